/* A query against the index in find/: the same steps under the same names as generator/finding/search.py.
 * All that weighs comes out of the index. find-words.js must be loaded before it. No page here: find.js shows what
 * this finds.
 *
 *   BenchloreFind.open(folder, stamp)                   -> index; its files are loaded as scripts when needed
 *   index.search(query, kind, filters, most)            -> promise of what search.py calls Found
 */
"use strict";
(() => {
  const { byUnits, letters, ones, textTools, thesaurusOf } = window.BenchloreWords;
  const waiting = new Map(); // file name -> function that takes its data
  window.benchloreFind = (name, data) => { const take = waiting.get(name); waiting.delete(name); if (take) take(data); };

  const DIGITS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";
  const VALUE = new Uint8Array(128);
  [...DIGITS].forEach((digit, value) => { VALUE[digit.charCodeAt(0)] = value; });
  const unpack = (text) => {
    const out = [];
    let number = 0, shift = 0;
    for (let i = 0; i < text.length; i++) {
      const value = VALUE[text.charCodeAt(i)];
      if (value > 31) { number |= (value - 32) << shift; shift += 5; }
      else { out.push(number | (value << shift)); number = shift = 0; }
    }
    return out;
  };
  const lists = (numbers) => {
    const out = [];
    for (let at = 0; at < numbers.length; at += 1 + numbers[at]) out.push(numbers.slice(at + 1, at + 1 + numbers[at]));
    return out;
  };
  const unpackWords = (text) => {
    let last = "";
    return text ? text.split(" ").map((piece) => (last = last.slice(0, VALUE[piece.charCodeAt(0)]) + piece.slice(1))) : [];
  };

  const CAUSES = 6; // counted causes that are shown
  const rounded = (score) => Math.floor(score * 10000 + 0.5) / 10000;
  const byScore = (a, b) => b[0] - a[0] || a[1] - b[1];
  /* The same order for a long list: scores have four places, so that one number holds score and place. */
  const inOrder = (list) => {
    const size = list.length;
    return Array.from(Float64Array.from(list, (item, i) => (100000 - Math.round(item[0] * 10000)) * size + i).sort(), (key) => list[key % size]);
  };

  class Index {
    constructor(folder, stamp) { this.folder = folder; this.stamp = stamp || ""; this.files = new Map(); this.terms = new Map(); this.likes = new Map(); }

    file(name) {
      if (!this.files.has(name)) {
        this.files.set(name, new Promise((take, fail) => {
          waiting.set(name, take);
          const script = document.createElement("script");
          script.src = `${this.folder}${name}.js${this.stamp ? `?${this.stamp}` : ""}`;
          script.onload = () => script.remove();
          script.onerror = () => { this.files.delete(name); script.remove(); fail(new Error(name)); };
          document.head.append(script);
        }));
      }
      return this.files.get(name);
    }

    async open() {
      const [core, thesaurus, facets] = await Promise.all([this.file("core"), this.file("words"), this.file("facets")]);
      if (this.core) return;
      this.constants = core.constants;
      this.text = textTools(core.text);
      this.thesaurus = thesaurusOf(thesaurus, this.text);
      this.vocabulary = unpackWords(core.vocabulary);
      this.known = new Set(this.vocabulary);
      this.letters = Int32Array.from(this.vocabulary, letters);
      this.bounds = core.bounds ? core.bounds.split(" ") : [];
      const column = ({ names, sets, notes }) => ({ names, sets: lists(unpack(sets)), place: Int32Array.from(unpack(notes)) });
      this.columns = {};
      for (const name of ["cause", "kind", "category", "outcome"]) this.columns[name] = column(core[name]);
      for (const [name, data] of Object.entries(facets)) this.columns[name] = column(data);
      this.causesOf = Array.from(this.columns.cause.place, (place) => this.columns.cause.sets[place]);
      this.having = new Float64Array(this.columns.cause.names.length);
      for (const causes of this.causesOf) for (const cause of causes) this.having[cause] += 1 / causes.length;
      this.core = core;
    }

    /* The file that holds a term is the last one whose first term is not after it. */
    async load(terms) {
      const needed = new Set();
      for (const term of terms) {
        let low = 0, high = this.bounds.length;
        while (low < high) { const mid = (low + high) >> 1; if (this.bounds[mid] <= term) low = mid + 1; else high = mid; }
        if (low) needed.add(`t${low - 1}`);
      }
      await Promise.all([...needed].map(async (name) => {
        const lines = await this.file(name);
        if (this.files.get(name).read) return;
        this.files.get(name).read = true;
        for (const line of lines.split("\n")) { const [term, weight, packed] = line.split(" "); this.terms.set(term, { weight: +weight, packed }); }
      }));
    }

    postings(term) {
      const held = this.terms.get(term);
      if (held && !held.notes) {
        const numbers = unpack(held.packed), levels = this.constants.levels;
        held.notes = new Int32Array(numbers.length);
        held.levels = new Uint8Array(numbers.length);
        let note = -1;
        numbers.forEach((number, i) => { note += Math.floor(number / levels) + 1; held.notes[i] = note; held.levels[i] = (number % levels) + 1; });
        held.packed = "";
      }
      return held;
    }

    /* Kept for each word: while one types, the words before stay as they are. */
    similar(token, unfinished) {
      const key = `${token} ${unfinished}`;
      if (!this.likes.has(key)) this.likes.set(key, this.compare(token, unfinished));
      return this.likes.get(key);
    }

    compare(token, unfinished) {
      const { constants, text } = this, found = [], length = [...token].length;
      if (length < (unfinished ? constants.begun : 4)) return found;
      const bits = letters(token), start = token.slice(0, 4), runs = [], chars = [...token], least = this.core.text.run_least;
      for (let i = 0; i + least <= length; i++) runs.push(chars.slice(i, i + least).join(""));
      this.vocabulary.forEach((word, i) => {
        if (unfinished && word.startsWith(token)) { found.push([word, constants.beginning]); return; }
        if (length < 4 || word === token) return;
        const other = this.letters[i];
        const strange = ones(bits & ~other) > 1 + Math.floor(length / 5) || ones(other & ~bits) > 1 + Math.floor(word.length / 5);
        if (strange && !word.startsWith(start) && !runs.some((run) => word.includes(run))) return;
        const likeness = text.similarity(token, word);
        if (likeness >= constants.alike) found.push([word, likeness]);
      });
      found.sort((a, b) => b[1] - a[1] || a[0].length - b[0].length || byUnits(a[0], b[0]));
      return found.slice(0, constants.similar_most);
    }

    askedTerms(query) {
      const tokens = new Set(), named = new Set();
      let room = this.constants.tokens_most;
      for (const clause of this.text.clauses(query)) {
        const content = this.thesaurus.content(clause).slice(0, room);
        room -= content.length;
        content.forEach((token) => tokens.add(token));
        this.thesaurus.named(content).forEach((name) => named.add(name));
      }
      return [[...tokens], [...named]];
    }

    async texts(tokens, named, unfinished) {
      const { constants, thesaurus } = this, step = constants.step, levels = constants.levels;
      const wanted = tokens.map((token) => [
        [token, constants.exact],
        ...thesaurus.wordGroups(token).map((group) => [group, constants.group]),
        ...this.similar(token, token === unfinished && !this.known.has(token)).map(([word, likeness]) => [word, constants.similar * likeness]),
      ]);
      await this.load([...wanted.flat().map(([term]) => term), ...named]);
      const total = new Float64Array(this.core.notes), best = new Float64Array(this.core.notes), lift = new Float64Array(this.having.length).fill(1);
      tokens.forEach((token, i) => {
        best.fill(0);
        const exact = this.postings(token), limit = exact ? exact.weight : Infinity;
        for (const [term, weight] of wanted[i]) {
          const held = this.postings(term);
          if (!held) continue;
          const unit = (weight * Math.min(held.weight, limit) * step) / levels;
          held.notes.forEach((note, at) => { const value = unit * held.levels[at]; if (value > best[note]) best[note] = value; });
        }
        this.add(best, total, lift);
      });
      for (const name of named) {
        const held = this.postings(name);
        if (!held) continue;
        const unit = ((name[0] === "@" ? constants.device : constants.symptom) * held.weight * step) / levels;
        best.fill(0);
        held.notes.forEach((note, at) => { best[note] = unit * held.levels[at]; });
        this.add(best, total, lift);
      }
      return { text: total, lift };
    }

    add(values, total, lift) {
      const { causesOf, having, constants, core } = this, most = values.reduce((a, b) => (a > b ? a : b), 0);
      if (most <= 0) return;
      const shares = new Float64Array(lift.length);
      let whole = 0;
      for (let note = 0; note < values.length; note++) {
        if (!values[note]) continue;
        total[note] += values[note];
        whole += values[note] / most;
        const causes = causesOf[note];
        for (const cause of causes) shares[cause] += values[note] / most / causes.length;
      }
      const mean = whole / core.notes, usual = constants.usual;
      for (let cause = 0; cause < lift.length; cause++) lift[cause] *= (shares[cause] + usual * mean) / ((having[cause] + usual) * mean);
    }

    showing(named) {
      const held = named.filter((name) => name[0] === "~").map((name) => this.postings(name)).filter(Boolean);
      return new Set(held.length ? held.reduce((rarest, other) => (other.weight > rarest.weight ? other : rarest)).notes : []);
    }

    kindsNear(kind) {
      const { constants, thesaurus, text } = this;
      const parts = (name) => {
        const tokens = text.tokens(name), content = thesaurus.content(tokens);
        return { tokens: content.length ? content : tokens, devices: thesaurus.named(content).filter((n) => n[0] === "@") };
      };
      const asked = parts(kind);
      if (!asked.tokens.length) return null;
      this.kindParts ||= ["kind", "category"].flatMap((column) => this.columns[column].names.map((name, number) => ({ column, number, ...parts(name) })));
      if (!this.spread) {
        this.spread = new Map();
        for (const { tokens } of this.kindParts) for (const token of new Set(tokens)) this.spread.set(token, (this.spread.get(token) || 0) + 1);
      }
      const rarity = (token) => 1 / (1 + (this.spread.get(token) || 0));
      const sum = (tokens) => tokens.reduce((whole, token) => whole + rarity(token), 0);
      const alike = (one, other) => one === other || ([...one].length > 3 && text.similarity(one, other) >= 0.8);
      let best = 0;
      const likes = this.kindParts.filter(({ tokens }) => tokens.length).map(({ column, number, tokens, devices }) => {
        let like = 2;
        if (tokens.join(" ") !== asked.tokens.join(" ")) {
          const mine = sum(asked.tokens.filter((token) => tokens.some((other) => alike(token, other))));
          like = Math.min(1, mine / Math.min(sum(asked.tokens), sum(tokens)));
          if (asked.devices.some((device) => devices.includes(device))) like = Math.max(like, 0.9);
        }
        best = Math.max(best, like);
        return { column, number, like };
      });
      const out = { kind: new Map(), category: new Map() };
      for (const { column, number, like } of likes) {
        if (like >= constants.kind_like && (like >= constants.kind_near || like >= constants.kind_near * best)) out[column].set(number, best > 1 && like <= 1 ? constants.kind_inside : 1);
      }
      return out.kind.size || out.category.size ? out : null;
    }

    async search(query, kind = "", filters = {}, most = 10) {
      await this.open();
      const { constants, core } = this;
      const near = this.kindsNear(kind);
      const [tokens, named] = this.askedTerms(near || !kind ? query : `${query}\n${kind}`);
      // What begins with the last word counts, unless the query goes on after it.
      const last = query.slice(-1).trim() && (near || !kind) ? this.text.tokens(query.slice(-200)).at(-1) : "";
      const { text, lift } = await this.texts(tokens, named, last || "");
      const say = this.say(near);
      let matching = [], best = 0;
      for (let n = 0; n < core.notes; n++) if (say[n] > 0) { matching.push(n); best = Math.max(best, text[n]); }
      const filtered = Object.values(filters).some(Boolean);
      const found = { results: [], causes: [], total: 0, known: 0, relaxed: false, facets: {}, kinds: [] };
      if (best > 0) {
        const same = this.showing(named);
        matching = matching.filter((n) => same.has(n) || text[n] >= constants.match * best);
      } else if (near || filtered) found.relaxed = Boolean(near && tokens.length);
      else return found;
      const share = text.map((value) => (best > 0 ? Math.min(1, value / best) : 0));
      const likely = this.likelyCauses(share, say, lift, Boolean(near));
      if (near) found.kinds = [...new Set(["kind", "category"].flatMap((name) => [...near[name].keys()].map((n) => this.columns[name].names[n])))];
      return this.answer(found, matching, (n) => (best > 0 ? share[n] * say[n] : say[n]), likely, filters, most);
    }

    say(near) {
      const say = new Float64Array(this.core.notes);
      if (!near) return say.fill(1);
      for (const name of ["kind", "category"]) {
        const { sets, place } = this.columns[name], ofSet = sets.map((set) => set.reduce((most, n) => Math.max(most, near[name].get(n) || 0), 0));
        place.forEach((set, n) => { say[n] = Math.max(say[n], ofSet[set]); });
      }
      return say;
    }

    likelyCauses(share, say, lift, narrowed) {
      const { constants } = this, votes = new Float64Array(this.columns.cause.names.length);
      this.causesOf.forEach((causes, n) => {
        if (!causes.length) return;
        let vote = share[n];
        for (let i = 1; i < constants.sharp; i++) vote *= share[n];
        if (narrowed) vote = say[n] > 0 ? say[n] * (vote + constants.prior) : constants.outside * vote;
        for (const cause of causes) votes[cause] += vote / causes.length;
      });
      // The eighth root, in steps that every language rounds alike.
      votes.forEach((vote, cause) => { votes[cause] = vote * Math.sqrt(Math.sqrt(Math.sqrt(lift[cause]))); });
      const most = votes.reduce((a, b) => Math.max(a, b), 0);
      return most > 0 ? votes.map((vote) => vote / most) : votes;
    }

    async answer(found, matching, closeness, likely, filters, most) {
      const { core, constants, columns, causesOf } = this, FILTERS = ["cause", "kind", "outcome", "part", "block", "bench"];
      const passing = FILTERS.filter((name) => filters[name]).map((name) => [name, columns[name].place, columns[name].sets.map((set) => set.some((n) => columns[name].names[n] === filters[name]))]);
      const counted = FILTERS.map((name) => ({ name, place: columns[name].place, counts: new Int32Array(columns[name].sets.length) }));
      const bestOf = new Map(), shown = [];
      for (const n of matching) {
        const close = closeness(n);
        let likelihood = 0;
        for (const c of causesOf[n]) likelihood = Math.max(likelihood, likely[c]);
        const score = rounded(close * (constants.base + likelihood)), failing = [];
        for (const [name, place, passes] of passing) if (!passes[place[n]]) failing.push(name);
        const alone = failing.length === 1 ? failing[0] : "";
        if (!failing.length) shown.push([score, n, close, likelihood]);
        else if (!alone) continue;
        for (const { name, place, counts } of counted) if (!alone || alone === name) counts[place[n]]++;
        if (!alone || alone === "cause") {
          if (causesOf[n].length) found.known++;
          for (const c of causesOf[n]) if (!bestOf.has(c) || bestOf.get(c)[0] < score) bestOf.set(c, [score, n]);
        }
      }
      for (const { name, counts } of counted) {
        const byName = new Int32Array(columns[name].names.length);
        columns[name].sets.forEach((set, i) => { for (const n of set) byName[n] += counts[i]; });
        found.facets[name] = columns[name].names.map((value, n) => [value, byName[n]]).filter((pair) => pair[1]).sort((a, b) => b[1] - a[1] || byUnits(a[0], b[0]));
      }
      found.total = shown.length;
      const causes = found.known >= constants.few ? found.facets.cause.slice(0, CAUSES) : [], number = new Map(columns.cause.names.map((cause, n) => [cause, n]));
      const card = async (n) => (await this.file(`c${Math.floor(n / core.cards)}`))[n % core.cards];
      [found.results, found.causes] = await Promise.all([
        Promise.all(this.mixed(inOrder(shown)).slice(0, most).map(async ([score, n]) => {
          const [slug, title, date, kind, symptoms, causes, outcome, foundBy] = await card(n);
          return { slug, title, date, kind, symptoms, causes, outcome, foundBy, score };
        })),
        Promise.all(causes.map(async ([cause, notes]) => ({ cause, notes, share: notes / found.known, foundBy: (await card(bestOf.get(number.get(cause))[1]))[7] }))),
      ]);
      return found;
    }

    mixed(ranked) {
      const { constants, causesOf } = this, seen = new Map(), held = new Map();
      const first = ranked.filter(([, n]) => {
        const main = causesOf[n][0] ?? -1, soFar = (held.get(main) || 0) + 1;
        held.set(main, soFar);
        return soFar <= constants.window;
      });
      return first.map(([, n, close, likelihood]) => {
        const mine = causesOf[n], decay = mine.length ? Math.min(...mine.map((c) => seen.get(c) ?? 1)) : 1;
        for (const c of mine) seen.set(c, (seen.get(c) ?? 1) * constants.decay);
        return [rounded(close * (constants.base + likelihood * decay)), n];
      }).sort(byScore);
    }
  }

  const opened = new Map();
  window.BenchloreFind = {
    open: (folder, stamp) => { if (!opened.has(folder)) opened.set(folder, new Index(folder, stamp)); return opened.get(folder); },
  };
})();
