// @ts-check
// Why a note was found, and which check tells likely causes apart: generator/finding/reasons.py, under the same names.
// find-score.js must be loaded before it.
"use strict";
(() => {
  const { NOT } = window.BenchloreWords;
  const SHORTEST = 3; // letters of a word that is told
  const QUOTED = 60; // characters of a symptom that is told whole
  const REASONS = 4; // that are told of one note
  const EDGES = ".,;:!?()[]\"'\u2018\u2019\u201c\u201d\u201e\u00ab\u00bb"; // what is left off around a word

  const bare = (word) => {
    let start = 0,
      end = word.length;
    while (start < end && EDGES.includes(word[start])) start++;
    while (end > start && EDGES.includes(word[end - 1])) end--;
    return word.slice(start, end);
  };

  window.BenchloreFind.Index.prototype.reasons = function reasons(asked, note, card) {
    const { lexicon } = asked,
      { text } = this,
      [, title, , , symptoms = [], causes = []] = card;
    const out = new Set(),
      terms = new Set();
    const names = (clause) => lexicon.named(lexicon.content(clause));
    for (const symptom of symptoms) {
      if ([...symptom].length > QUOTED) continue;
      const named = text.clauses(symptom).flatMap(names);
      if (named.some((name) => name[0] === "~" && asked.named.has(name))) out.add(symptom);
    }
    for (const wanted of asked.wanted.values()) for (const term of wanted.keys()) terms.add(term);
    terms.delete(NOT);
    const seen = new Set([...out].flatMap((symptom) => text.tokens(symptom)));
    const meant = (token) => {
      const groups = lexicon.wordGroups(token);
      if (token.length < SHORTEST || seen.has(token) || groups.includes(NOT)) return false;
      return terms.has(token) || groups.some((group) => terms.has(group));
    };
    for (const word of [...symptoms, title, ...causes].flatMap((line) => line.split(" "))) {
      const tokens = text.tokens(word);
      if (!tokens.some(meant)) continue;
      for (const token of tokens) seen.add(token);
      out.add(bare(word));
    }
    if (!out.size) {
      for (const term of [...asked.wanted.keys(), ...asked.named]) {
        if (this.held(term)?.notes.includes(note))
          out.add(asked.wanted.has(term) ? term : term.slice(1).replaceAll("-", " "));
      }
    }
    return [...out].slice(0, REASONS);
  };

  window.BenchloreFind.Index.prototype.firstCheck = function firstCheck(likely) {
    const checks = new Map(),
      whole = likely.reduce((sum, [chance]) => sum + chance, 0);
    for (const [chance, card] of likely) {
      for (const check of new Set([...(card[7] ? [card[7]] : []), ...(card[8] || [])])) {
        const key = this.text.tokens(check).join(" ");
        if (!checks.has(key)) checks.set(key, [check, []]);
        checks.get(key)[1].push(chance);
      }
    }
    let best = "",
      most = 0;
    for (const [check, shown] of checks.values()) {
      const rest = Math.max(0, whole - shown.reduce((sum, part) => sum + part, 0));
      const parts = whole > 0 ? [...shown, rest].filter((part) => part > 0) : [];
      const entropy = -parts.reduce((sum, part) => sum + (part / whole) * Math.log(part / whole), 0);
      const told = Math.floor(entropy * 1000000 + 0.5) / 1000000;
      if (told > most) [best, most] = [check, told];
    }
    return best;
  };
})();
