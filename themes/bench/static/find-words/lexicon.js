// @ts-check
/* lexicon.py */
const lexiconOf = (() => {
  const { byUnits, into, kept, NONE, NOT, STILL } = basics;
  const REACH = 2,
    SKIP = 2,
    SHORTEST_STEM = 4,
    LETTERS = [..."abcdefghijklmnopqrstuvwxyz"];

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

  return (tongues) => {
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
})();
