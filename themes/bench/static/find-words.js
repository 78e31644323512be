// @ts-check
// The words of a query, cut and compared as generator/finding/words.py, lexicon.py and thesaurus.py do, under the
// same names. Their data come out of the index. Must be loaded before find-index.js.
"use strict";
(() => {
  const byUnits = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
  const letters = (word) => {
    let bits = 0;
    for (const c of word) bits |= 1 << (c.codePointAt(0) & 31);
    return bits;
  };
  const ones = (bits) => {
    let n = 0;
    for (; bits; bits &= bits - 1) n++;
    return n;
  };
  const into = (map, key, value) => {
    if (map.has(key)) map.get(key).push(value);
    else map.set(key, [value]);
  };
  /* A function that remembers what it was asked. */
  const kept = (make, key = (asked) => asked) => {
    const answers = new Map();
    return (asked) => {
      const name = key(asked);
      if (!answers.has(name)) answers.set(name, make(asked));
      return answers.get(name);
    };
  };

  /* words.py */
  const textTools = (data) => {
    const hex = (n) => `\\u{${n.toString(16)}}`;
    const ranges = (pairs) => pairs.map(([low, high]) => `${hex(low)}-${hex(high)}`).join("");
    const inside = (pairs, flags = "gu") => new RegExp(`[${ranges(pairs)}]`, flags);
    const TOKEN = new RegExp(`[^${ranges(data.separators)}]+`, "gu");
    const MARKS = inside(data.marks),
      IN_RUN = inside(data.runs, "u");
    const RUN = new RegExp(`[${ranges(data.runs)}]+|[^${ranges(data.runs)}]+`, "gu");
    const PIECE = new RegExp(`[^${ranges(data.separators)}]+|[${data.marks_of_break}]`, "gu");
    const set = (text) => new Set(text.split(" "));
    const breaks = set(data.breaks),
      joints = set(data.joints);
    const tiedBefore = set(data.tied_before),
      tiedAfter = set(data.tied_after);
    const FOLD = new RegExp(`[${Object.keys(data.folds).join("")}]`, "gu");
    const folds = (text) => text.replace(FOLD, (c) => data.folds[c]);
    const fold = (text) => {
      text = folds(text.slice(0, data.text).toLowerCase());
      if (/[^\0-\x7f]/.test(text)) {
        text = folds(text.normalize("NFKD").replace(MARKS, "").toLowerCase()).normalize("NFC");
      }
      text = text.replaceAll("_", " ").replace(/n't(?![a-z])/g, "nt");
      for (const [hyphened, joined] of Object.entries(data.joined)) text = text.replaceAll(hyphened, joined);
      return text.replace(/([0-9])[.,]([0-9])/g, "$1_$2");
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
      const pieces = fold(text).replaceAll(" - ", " \u2013 ").match(PIECE) || [],
        out = [[]];
      let before = "";
      pieces.forEach((piece, n) => {
        const mark = data.marks_of_break.includes(piece),
          begins = joints.has(piece)
            ? !tiedBefore.has(before) && !tiedAfter.has(pieces[n + 1])
            : mark || breaks.has(piece);
        if (begins) out.push([]);
        if (mark) return;
        before = piece;
        out.at(-1).push(...cut(piece));
      });
      return out.filter((clause) => clause.length);
    };
    const grams = kept((word) => {
      const chars = ["^", ...word, "$"],
        seen = {},
        out = new Set();
      for (let i = 0; i + 1 < chars.length; i++) out.add(chars[i] + chars[i + 1]);
      for (const c of word) out.add(c + String((seen[c] = (seen[c] || 0) + 1)).padStart(3, "0"));
      return out;
    });
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
      const a = grams(one),
        b = grams(other);
      let n = 0;
      for (const gram of a) if (b.has(gram)) n++;
      let shared = (2 * n) / (a.size + b.size);
      const x = [...one],
        y = [...other];
      if (x[0] === y[0]) {
        if (x.length === y.length && x.length > 3 && [...x].sort().join() === [...y].sort().join()) {
          return Math.max(shared, data.swapped);
        }
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
    const beside = (one, other) => {
      const [[row, at], [below, there]] = [one, other].map((letter) => {
        const place = data.keys.findIndex((keys) => keys.includes(letter));
        return [place, place < 0 ? -1 : data.keys[place].indexOf(letter)];
      });
      return (
        row >= 0 && below >= 0 && Math.abs(row - below) <= 1 && Math.abs(2 * (at - there) + row - below) <= 2
      );
    };
    const meant = (typed, word, known) => {
      const x = [...typed],
        y = [...word],
        least = Math.min(x.length, y.length),
        shortest = data.shortest_word;
      let stem = 0;
      while (stem < least && x[stem] === y[stem]) stem++;
      if (stem === shortest - 1 && Math.max(x.length, y.length) <= stem + data.ending) return true;
      const run = x.length > y.length ? longestRun(y, typed) : longestRun(x, word);
      if (run >= data.run_least && (run === least || run >= data.run_most * least)) return true;
      if (known) return false;
      const others = x
        .slice(0, least)
        .map((letter, i) => [letter, y[i]])
        .filter(([a, b]) => a !== b);
      if (x.length === y.length && others.length === 1) return least >= shortest && beside(...others[0]);
      if ([...x].sort().join() === [...y].sort().join() || least >= data.long_word) return true;
      if (least < shortest || Math.abs(x.length - y.length) !== 1) return false;
      const [short, long] = x.length < y.length ? [x, y] : [y, x];
      return long.some((_, n) => long.filter((_, i) => i !== n).join("") === short.join(""));
    };
    return { tokens, clauses, similarity, meant };
  };

  /* lexicon.py */
  const NOT = "=not",
    STILL = "~comes-on",
    REACH = 2,
    SKIP = 2,
    SHORTEST_STEM = 4,
    LETTERS = [..."abcdefghijklmnopqrstuvwxyz"];
  const NONE = [];

  /* What a token may have been before one slip: swaps first, then doublings, then losses; never of the first letter. */
  function* unslipped(token) {
    const end = token.length;
    for (let n = 1; n < end - 1; n++) {
      if (token[n] !== token[n + 1]) yield token.slice(0, n) + token[n + 1] + token[n] + token.slice(n + 2);
    }
    for (let n = 1; n < end; n++) if (token[n] === token[n - 1]) yield token.slice(0, n) + token.slice(n + 1);
    for (let n = 1; n <= end; n++) {
      for (const letter of LETTERS) yield token.slice(0, n) + letter + token.slice(n);
    }
  }

  const lexiconOf = (tongues) => {
    const groups = new Map(),
      phrases = new Map(),
      stop = new Set(),
      sound = new Set(),
      plain = new Set();
    const ends = new Set([""]);
    const add = (map, key, values) => {
      if (!map.has(key)) map.set(key, new Set());
      for (const value of values) map.get(key).add(value);
    };
    for (const tongue of tongues) {
      for (const [word, names] of tongue.groups) add(groups, word, names);
      for (const [name, said] of tongue.phrases) add(phrases, name, said);
      for (const word of tongue.stop) stop.add(word);
      for (const word of tongue.words) sound.add(word);
      for (const word of tongue.plain) if (!tongue.groups.has(word)) plain.add(word);
      for (const ending of tongue.endings) ends.add(ending);
    }
    for (const word of groups.keys()) stop.delete(word);
    const targets = [...sound].filter((word) => !stop.has(word) && !plain.has(word)).sort(byUnits);
    const known = new Set(targets),
      byStem = new Map();
    const endings = [...ends].sort((a, b) => b.length - a.length || byUnits(a, b));
    const stemsOf = (word) =>
      endings
        .filter((ending) => word.endsWith(ending) && word.length - ending.length >= SHORTEST_STEM)
        .map((ending) => word.slice(0, word.length - ending.length));
    for (const word of targets)
      for (const stem of stemsOf(word)) if (!byStem.has(stem)) byStem.set(stem, word);
    const resolve = kept((token) => {
      if (sound.has(token) || token.length < SHORTEST_STEM) return token;
      for (const stem of stemsOf(token)) if (byStem.has(stem)) return byStem.get(stem);
      for (const made of unslipped(token)) {
        if (!known.has(made)) continue;
        if (Math.min(token.length, made.length) > 4 || made.length === token.length) return made;
      }
      return token;
    });
    const wordGroups = kept((token) => [...(groups.get(resolve(token)) || NONE)]);
    /* What a known word stands for in a phrase: itself, what it is without its ending, its groups. */
    const meant = (word) => {
      const stems = known.has(word) ? stemsOf(word).sort((a, b) => a.length - b.length) : NONE;
      return [word, ...stems.slice(0, 1).map((stem) => `.${stem}`), ...(groups.get(word) || NONE)];
    };
    const symbolsOf = kept((token) => new Set([token, ...meant(resolve(token))]));

    const every = [];
    for (const [name, said] of phrases) {
      for (const phrase of said) {
        const own = name[0] === "@" || name === STILL;
        every.push([name, phrase.split(" ").map((word) => (own ? [word] : meant(word)))]);
      }
    }
    const held = new Map(),
      byRarest = new Map();
    for (const [, elements] of every) {
      for (const symbol of new Set(elements.flat())) held.set(symbol, (held.get(symbol) || 0) + 1);
    }
    for (const [name, elements] of every) {
      const spread = elements.map((element) => element.reduce((sum, symbol) => sum + held.get(symbol), 0));
      const at = spread.indexOf(Math.min(...spread));
      for (const symbol of elements[at]) into(byRarest, symbol, [name, elements, at]);
    }

    const placesOf = (seen, start, elements) => {
      const places = [start];
      for (const element of elements.slice(1)) {
        let step = places.at(-1) + 1;
        const end = Math.min(step + 1 + SKIP, seen.length);
        for (; step < end; step++) {
          if (element.some((symbol) => seen[step].has(symbol))) break;
          if (seen[step].has(NOT)) return null;
        }
        if (step >= end) return null;
        places.push(step);
      }
      return places;
    };
    /* Whether a negation stands right before a phrase that has none itself: "not noisy", "will not stay on". */
    const denied = (seen, start, elements) =>
      start > 0 && seen[start - 1].has(NOT) && !elements.some((element) => element.includes(NOT));
    /* [name, places] of all that a clause names. */
    const placing = kept(
      (clause) => {
        const seen = clause.map(symbolsOf),
          said = [];
        seen.forEach((symbols, place) => {
          for (const symbol of symbols) {
            for (const [name, elements, at] of byRarest.get(symbol) || NONE) {
              for (let start = Math.max(0, place - at * (1 + SKIP)); start <= place - at; start++) {
                if (!elements[0].some((first) => seen[start].has(first))) continue;
                const places = placesOf(seen, start, elements);
                if (places) said.push([name, places, name[0] === "~" && denied(seen, start, elements)]);
              }
            }
          }
        });
        const within = ([name, places]) =>
          said.some(
            ([other, more, gone]) =>
              (other !== name || gone) &&
              other[0] === name[0] &&
              more.length > places.length &&
              places.every((place) => more.includes(place)),
          );
        /* "light comes on", "noisy fan": a word that has a group names a device only alone. */
        const part = ([name, places]) =>
          name[0] === "@" &&
          places.length === 1 &&
          clause.length > 1 &&
          wordGroups(clause[places[0]]).length > 0;
        return said.filter((one) => !one[2] && !part(one) && !within(one));
      },
      (clause) => clause.join(" "),
    );
    const named = (clause) => [...new Set(placing(clause).map(([name]) => name))].sort(byUnits);
    const placed = (clause, name) =>
      new Set(placing(clause).flatMap(([other, places]) => (other === name ? places : NONE)));
    const negated = (clause) => {
      const nots = clause.map((token) => wordGroups(token).includes(NOT));
      return clause.map(
        (_, n) => !nots[n] && nots.slice(Math.max(0, n - REACH), n + REACH + 1).includes(true),
      );
    };
    const content = (tokens) => tokens.filter((token) => !stop.has(token));
    return { content, wordGroups, named, placed, negated };
  };

  /* thesaurus.py */
  const EVERY = "",
    JUDGED = 40;

  const tongueOf = (data) => {
    const list = (text) => (text ? text.split(" ") : NONE);
    const groups = new Map(),
      phrases = new Map(),
      words = new Set([...list(data.stop), ...list(data.plain)]);
    for (const [name, members] of Object.entries(data.words)) {
      for (const word of list(members)) {
        into(groups, word, name);
        words.add(word);
      }
    }
    for (const [name, said] of Object.entries(data.phrases)) {
      phrases.set(name, said.split(","));
      for (const word of said.split(/[ ,]/)) words.add(word);
    }
    return {
      groups,
      phrases,
      stop: new Set(list(data.stop)),
      plain: list(data.plain),
      endings: list(data.endings),
      words,
    };
  };

  class Thesaurus {
    constructor() {
      this.tongues = new Map();
      this.lexicon = kept(
        (languages) => lexiconOf(this.held(languages)),
        (languages) => languages.join(" "),
      );
    }

    add(data) {
      for (const [language, tongue] of Object.entries(data)) this.tongues.set(language, tongueOf(tongue));
    }

    held(languages) {
      return [EVERY, ...languages].map((language) => this.tongues.get(language)).filter(Boolean);
    }

    get languages() {
      return [...this.tongues.keys()].filter((language) => language !== EVERY).sort(byUnits);
    }

    spoken(tokens, among) {
      const judged = tokens.slice(0, JUDGED);
      const counts = among.map(
        (name) => judged.filter((token) => this.tongues.get(name).words.has(token)).length,
      );
      const most = Math.max(0, ...counts);
      return among.filter((_, n) => counts[n] === most);
    }

    knows(token, among) {
      return this.held(among).some((tongue) => tongue.words.has(token));
    }
  }

  window.BenchloreWords = { byUnits, kept, letters, ones, textTools, Thesaurus, NOT, STILL };
})();
