// @ts-check
// The words of a query, cut and compared as generator/finding/ does, under the same names; their data come out of the
// index. The files here are published as one, in their order, and loaded before find-index.js.
"use strict";
/* What text.js, lexicon.js and thesaurus.js share. */
const basics = (() => {
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
  return { byUnits, letters, ones, into, kept, NOT: "=not", STILL: "~comes-on", NONE: [] };
})();
