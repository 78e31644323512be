// @ts-check
// The index in find/ as generator/finding/reader.py has it: its files are loaded as scripts when they are needed.
// find-words.js must be loaded before it.
"use strict";
(() => {
  const { kept, letters, textTools, Thesaurus } = window.BenchloreWords;
  const waiting = new Map(); // file name -> function that takes its data
  window.benchloreFind = (name, data) => {
    const take = waiting.get(name);
    waiting.delete(name);
    if (take) take(data);
  };

  /* codec.py */
  const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
  const VALUE = new Uint8Array(128);
  [...DIGITS].forEach((digit, value) => {
    VALUE[digit.charCodeAt(0)] = value;
  });
  const unpack = (text) => {
    const out = [];
    let number = 0,
      shift = 0;
    for (let i = 0; i < text.length; i++) {
      const value = VALUE[text.charCodeAt(i)];
      if (value > 31) {
        number |= (value - 32) << shift;
        shift += 5;
      } else {
        out.push(number | (value << shift));
        number = shift = 0;
      }
    }
    return out;
  };
  const unpackPostings = (text, levels) => {
    const numbers = unpack(text),
      notes = new Int32Array(numbers.length),
      level = new Uint8Array(numbers.length);
    let note = -1;
    for (let i = 0; i < numbers.length; i++) {
      note += Math.floor(numbers[i] / levels) + 1;
      notes[i] = note;
      level[i] = (numbers[i] % levels) + 1;
    }
    return { notes, levels: level };
  };
  const unpackWords = (text) => {
    let last = "";
    const next = (piece) => (last = last.slice(0, VALUE[piece.charCodeAt(0)]) + piece.slice(1));
    return text ? text.split(" ").map(next) : [];
  };
  const lists = (numbers) => {
    const out = [];
    for (let at = 0; at < numbers.length; at += 1 + numbers[at]) {
      out.push(numbers.slice(at + 1, at + 1 + numbers[at]));
    }
    return out;
  };

  class Reader {
    constructor(folder, stamp) {
      this.folder = folder;
      this.stamp = stamp || "";
      this.files = new Map();
      this.terms = new Map();
    }

    file(name) {
      if (!this.files.has(name)) {
        this.files.set(
          name,
          new Promise((take, fail) => {
            waiting.set(name, take);
            const script = document.createElement("script");
            script.src = `${this.folder}${name}.js${this.stamp ? `?${this.stamp}` : ""}`;
            script.onload = () => script.remove();
            script.onerror = () => {
              this.files.delete(name);
              script.remove();
              fail(new Error(name));
            };
            document.head.append(script);
          }),
        );
      }
      return this.files.get(name);
    }

    async open() {
      const [core, words, facets] = await Promise.all(
        ["core", "words", "facets"].map((name) => this.file(name)),
      );
      if (this.core) return;
      this.constants = core.constants;
      this.text = textTools(core.text);
      this.thesaurus = new Thesaurus();
      this.thesaurus.add(words);
      this.vocabulary = unpackWords(core.vocabulary);
      this.knownWords = new Set(this.vocabulary);
      this.letters = Int32Array.from(this.vocabulary, letters);
      this.bounds = core.bounds ? core.bounds.split(" ") : [];
      this.columns = {};
      const held = {
        cause: core.cause,
        kind: core.kind,
        category: core.category,
        outcome: core.outcome,
        ...facets,
      };
      for (const [name, { names, sets, notes }] of Object.entries(held)) {
        this.columns[name] = { names, sets: lists(unpack(sets)), place: Int32Array.from(unpack(notes)) };
      }
      const { cause, kind } = this.columns,
        deviceOf = kind.sets.map((mine) => (mine.length ? core.device_of[mine[0]] : -1));
      this.causesOf = Array.from(cause.place, (place) => cause.sets[place]);
      this.deviceOf = Int32Array.from(kind.place, (place) => deviceOf[place]);
      this.pairUp(core.notes);
      this.similar = kept(
        ({ token, unfinished }) => this.compare(token, unfinished),
        ({ token, unfinished }) => `${token} ${unfinished}`,
      );
      this.core = core;
    }

    /* The pairs of a kind of device and a cause, numbered, and which of them each note stands for. */
    pairUp(notes) {
      const number = new Map(),
        sets = new Map();
      this.pairs = [];
      this.pairsOf = Array.from({ length: notes }, (_, note) => {
        const place = `${this.deviceOf[note]} ${this.columns.cause.place[note]}`;
        if (!sets.has(place)) {
          const causes = this.causesOf[note].length ? this.causesOf[note] : [-1];
          sets.set(
            place,
            causes.map((cause) => {
              const name = `${this.deviceOf[note]} ${cause}`;
              if (!number.has(name)) number.set(name, this.pairs.push([this.deviceOf[note], cause]) - 1);
              return number.get(name);
            }),
          );
        }
        return sets.get(place);
      });
    }

    /* The file that holds a term is the last one whose first term is not after it. */
    async load(terms) {
      const needed = new Set();
      for (const term of terms) {
        let low = 0,
          high = this.bounds.length;
        while (low < high) {
          const mid = (low + high) >> 1;
          if (this.bounds[mid] <= term) low = mid + 1;
          else high = mid;
        }
        if (low) needed.add(`t${low - 1}`);
      }
      await Promise.all(
        [...needed].map(async (name) => {
          const lines = await this.file(name);
          if (this.files.get(name).read) return;
          this.files.get(name).read = true;
          for (const line of lines.split("\n")) {
            const [term, weight, notes, heads = "0", causes = "", kinds = ""] = line.split(" ");
            this.terms.set(term, { weight: +weight, packed: notes, heads: +heads, causes, kinds });
          }
        }),
      );
    }

    /* What was loaded of a term, with its notes and their levels. */
    held(term) {
      const held = this.terms.get(term);
      if (held && !held.notes) {
        Object.assign(held, unpackPostings(held.packed, this.constants.levels));
        held.packed = "";
      }
      return held;
    }

    learned(packed) {
      const middle = this.constants.learned_middle;
      const { notes, levels } = unpackPostings(packed, 2 * middle + 1);
      return Array.from(notes, (kind, i) => [kind, (levels[i] - middle - 1) * this.constants.learned_step]);
    }

    async card(note) {
      return (await this.file(`c${Math.floor(note / this.core.cards)}`))[note % this.core.cards];
    }

    knows(token) {
      return this.knownWords.has(token) || this.thesaurus.knows(token, this.core.languages);
    }

    async lexicon(tokens, unfinished = "") {
      const strange = tokens.some(
        (token) =>
          token.length > 2 &&
          /^\p{L}+$/u.test(token) &&
          !this.knows(token) &&
          !(token === unfinished && this.vocabulary.some((word) => word.startsWith(token))),
      );
      if (strange && !this.more) {
        this.thesaurus.add(await this.file("more"));
        this.more = true;
      }
      const among = strange ? this.thesaurus.languages : this.core.languages;
      const spoken = this.thesaurus.spoken(tokens, among);
      return this.thesaurus.lexicon(spoken.length ? spoken : among);
    }

    get home() {
      return this.thesaurus.lexicon(this.core.languages);
    }

    compare(token, unfinished) {
      const { ones, byUnits } = window.BenchloreWords;
      const { constants, text } = this,
        found = [],
        length = [...token].length;
      if (length < (unfinished ? constants.begun : 4)) return found;
      const bits = letters(token),
        start = token.slice(0, 4),
        runs = [],
        chars = [...token];
      const known = this.knownWords.has(token);
      const least = this.core.text.run_least,
        tokenMost = 1 + Math.floor(length / 5);
      for (let i = 0; i + least <= length; i++) runs.push(chars.slice(i, i + least).join(""));
      for (let i = 0; i < this.vocabulary.length; i++) {
        const word = this.vocabulary[i];
        if (unfinished && word.startsWith(token)) {
          found.push([word, constants.beginning]);
          continue;
        }
        if (length < 4 || word === token) continue;
        const other = this.letters[i];
        const strange =
          ones(bits & ~other) > tokenMost || ones(other & ~bits) > 1 + Math.floor(word.length / 5);
        if (strange && !word.startsWith(start) && !runs.some((run) => word.includes(run))) continue;
        const likeness = text.similarity(token, word);
        if (likeness >= constants.alike && text.meant(token, word, known)) found.push([word, likeness]);
      }
      found.sort((a, b) => b[1] - a[1] || a[0].length - b[0].length || byUnits(a[0], b[0]));
      return found.slice(0, constants.similar_most);
    }
  }

  window.BenchloreReader = Reader;
})();
