/* The words of a query, cut and compared as generator/finding/words.py and thesaurus.py do, under the same names.
 * Their data come out of the index. Must be loaded before find-score.js.
 */
"use strict";
(() => {
  const byUnits = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  const letters = (word) => { let bits = 0; for (const c of word) bits |= 1 << (c.codePointAt(0) & 31); return bits; };
  const ones = (bits) => { let n = 0; for (; bits; bits &= bits - 1) n++; return n; };

  /* words.py */
  const textTools = (data) => {
    const hex = (n) => `\\u{${n.toString(16)}}`;
    const ranges = (pairs) => pairs.map(([low, high]) => `${hex(low)}-${hex(high)}`).join("");
    const inside = (pairs, flags = "gu") => new RegExp(`[${ranges(pairs)}]`, flags);
    const TOKEN = new RegExp(`[^${ranges(data.separators)}]+`, "gu");
    const MARKS = inside(data.marks), IN_RUN = inside(data.runs, "u");
    const RUN = new RegExp(`[${ranges(data.runs)}]+|[^${ranges(data.runs)}]+`, "gu");
    const BREAK = new RegExp(`[${data.marks_of_break}]`);
    const breaks = new Set(data.breaks.split(" "));
    const FOLD = new RegExp(`[${Object.keys(data.folds).join("")}]`, "gu");
    const folds = (text) => text.replace(FOLD, (c) => data.folds[c]);
    const fold = (text) => {
      text = folds(text.slice(0, data.text).toLowerCase());
      if (/[^\0-\x7f]/.test(text)) text = folds(text.normalize("NFKD").replace(MARKS, "").toLowerCase()).normalize("NFC");
      return text.replaceAll("_", " ").replace(/n't(?![a-z])/g, "nt").replace(/([0-9])[.,]([0-9])/g, "$1_$2");
    };
    const cut = (word) => {
      const short = (piece) => [...piece].slice(0, data.longest).join("");
      if (!IN_RUN.test(word)) return [short(word)];
      return word.match(RUN).flatMap((piece) => {
        const chars = [...piece];
        if (chars.length < 3 || !IN_RUN.test(chars[0])) return [short(piece)];
        return chars.slice(1).map((c, i) => chars[i] + c);
      });
    };
    const tokens = (text) => (fold(text).match(TOKEN) || []).flatMap(cut);
    const clauses = (text) => {
      const folded = fold(text), out = [[]];
      let end = 0;
      for (const match of folded.matchAll(TOKEN)) {
        if (out.at(-1).length && BREAK.test(folded.slice(end, match.index))) out.push([]);
        end = match.index + match[0].length;
        if (breaks.has(match[0])) out.push([]);
        out.at(-1).push(...cut(match[0]));
      }
      return out.filter((clause) => clause.length);
    };
    const kept = new Map();
    const grams = (word) => {
      let out = kept.get(word);
      if (!out) {
        const chars = ["^", ...word, "$"], seen = {};
        out = new Set();
        for (let i = 0; i + 1 < chars.length; i++) out.add(chars[i] + chars[i + 1]);
        for (const c of word) out.add(c + String((seen[c] = (seen[c] || 0) + 1)).padStart(3, "0"));
        kept.set(word, out);
      }
      return out;
    };
    const longestRun = (short, long) => {
      let longest = 0;
      for (let start = 0; start + data.run_least <= short.length; start++) {
        for (;;) {
          const more = Math.max(longest + 1, data.run_least);
          if (start + more > short.length || !long.includes(short.slice(start, start + more).join(""))) break;
          longest = more;
        }
      }
      return longest;
    };
    const similarity = (one, other) => {
      const a = grams(one), b = grams(other);
      let n = 0;
      for (const gram of a) if (b.has(gram)) n++;
      let shared = (2 * n) / (a.size + b.size);
      const x = [...one], y = [...other];
      if (x[0] === y[0]) {
        if (x.length === y.length && x.length > 3 && [...x].sort().join() === [...y].sort().join()) return Math.max(shared, data.swapped);
        let stem = 0;
        while (stem < x.length && stem < y.length && x[stem] === y[stem]) stem++;
        if (stem > 3 && stem * 4 >= 3 * Math.min(x.length, y.length)) shared = Math.max(shared, data.stem);
      }
      const [short, long] = x.length > y.length ? [y, one] : [x, other];
      const run = longestRun(short, long);
      if (run >= data.run_least) {
        if (run === short.length) return Math.max(shared, data.inside);
        if (run >= data.run_most * short.length) return Math.max(shared, data.run_shared);
      }
      return shared;
    };
    return { tokens, clauses, similarity };
  };

  /* thesaurus.py */
  const thesaurusOf = (data, text) => {
    const stop = new Set(data.stop.split(" ")), groups = new Map(), byFirst = new Map(), known = new Set();
    const into = (map, key, value) => { if (map.has(key)) map.get(key).push(value); else map.set(key, [value]); };
    for (const [name, members] of Object.entries(data.words)) for (const word of members.split(" ")) { into(groups, word, name); known.add(word); }
    for (const [name, phrases] of Object.entries(data.phrases)) {
      for (const phrase of phrases.split(",")) {
        const elements = phrase.split(" ").map((word) => { known.add(word); return name[0] === "@" ? [word] : [word, ...(groups.get(word) || [])]; });
        for (const symbol of elements[0]) into(byFirst, symbol, [name, elements]);
      }
    }
    const long = [...known].filter((word) => word.length >= data.shortest).sort(byUnits).map((word) => [word, letters(word)]);
    const resolved = new Map();
    const resolve = (token) => {
      if (known.has(token) || stop.has(token) || token.length < data.shortest) return token;
      if (!resolved.has(token)) {
        let best = token, like = data.alike;
        const bits = letters(token), length = token.length;
        for (const [word, other] of long) {
          if (word.length < Math.floor((length * 2) / 3) || word.length > Math.floor((length * 3) / 2)) continue;
          if (ones(bits & ~other) > 1 + Math.floor(length / 4) || ones(other & ~bits) > 1 + Math.floor(word.length / 4)) continue;
          const likeness = text.similarity(token, word);
          if (likeness > like || (likeness === like && (best === token || word < best))) { like = likeness; best = word; }
        }
        resolved.set(token, best);
      }
      return resolved.get(token);
    };
    const wordGroups = (token) => groups.get(resolve(token)) || [];
    const placesOf = (seen, start, elements) => {
      const places = [start];
      for (const element of elements.slice(1)) {
        let step = places.at(-1) + 1;
        const end = Math.min(step + 1 + data.skip, seen.length);
        for (; step < end; step++) {
          if (element.some((symbol) => seen[step].has(symbol))) break;
          if (seen[step].has(data.not)) return null;
        }
        if (step >= end) return null;
        places.push(step);
      }
      return places;
    };
    const named = (clause) => {
      const seen = clause.map((token) => new Set([token, resolve(token), ...wordGroups(token)])), said = [];
      seen.forEach((symbols, start) => {
        for (const symbol of symbols) for (const [name, elements] of byFirst.get(symbol) || []) {
          const places = placesOf(seen, start, elements);
          if (places) said.push([name, places]);
        }
      });
      const within = ([name, places]) => said.some(([other, more]) => other !== name && other[0] === name[0] && more.length > places.length && places.every((place) => more.includes(place)));
      return [...new Set(said.filter((one) => !within(one)).map(([name]) => name))].sort(byUnits);
    };
    return { content: (tokens) => tokens.filter((token) => !stop.has(token)), wordGroups, named };
  };

  window.BenchloreWords = { byUnits, letters, ones, textTools, thesaurusOf };
})();
