// @ts-check
/* words.py */
const textTools = (() => {
  const { kept } = basics;
  return (data) => {
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
})();
