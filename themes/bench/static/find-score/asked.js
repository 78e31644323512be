// @ts-check
// A query against the index in find/: the same steps under the same names as generator/finding/asked.py, kinds.py,
// likely.py, search.py and reasons.py. All that weighs comes out of the index. The files here are published as one, in
// their order; find-words.js and find-index.js must be loaded before it. No page here: find.js shows what this finds.
//
//   BenchloreFind.open(folder, stamp)                   -> index
//   index.search(query, kind, filters, most)            -> promise of what search.py calls Found
"use strict";
const Asked = (() => {
  const { NOT, STILL } = window.BenchloreWords;
  const SHORTEST_PART = 4,
    LINKS = ["", "s", "n", "en", "es", "er"]; // of compounds

  return class Asked extends window.BenchloreReader {
    /* --- asked.py --- */

    parted(token) {
      if (token.length < 2 * SHORTEST_PART || this.knows(token)) return [token];
      for (let cut = token.length - SHORTEST_PART; cut >= SHORTEST_PART; cut--) {
        if (!this.knows(token.slice(cut))) continue;
        for (const link of LINKS) {
          const first = token.slice(0, cut - link.length);
          if (token.slice(0, cut).endsWith(link) && first.length >= SHORTEST_PART && this.knows(first)) {
            return [first, token.slice(cut)];
          }
        }
      }
      return [token];
    }

    async takenApart(query, unfinished = "") {
      const clauses = this.text.clauses(query),
        lexicon = await this.lexicon(clauses.flat(), unfinished);
      const asked = { lexicon, wanted: new Map(), named: new Set(), said: new Map() };
      const spared = [];
      let room = this.constants.tokens_most;
      for (const clause of clauses) {
        let content = lexicon.content(clause).slice(0, room);
        room -= content.length;
        content = content.flatMap((token) => this.parted(token));
        const negated = lexicon.negated(content),
          works = lexicon.placed(content, STILL);
        content.forEach((token, n) => {
          const groups = lexicon.wordGroups(token);
          if (works.has(n) || groups.includes(NOT)) {
            spared.push([token, negated[n]]);
            for (const term of [token, ...groups]) asked.said.set(term, 1);
          } else if (!asked.wanted.has(token))
            this.want(asked, token, negated[n], token === unfinished && !this.knownWords.has(token));
        });
        for (const name of lexicon.named(content)) {
          asked.said.set(name, 1);
          if (name !== STILL) asked.named.add(name);
        }
      }
      if (!asked.wanted.size) for (const [token, negated] of spared) this.want(asked, token, negated, false);
      return asked;
    }

    want(asked, token, negated, unfinished) {
      const { constants } = this,
        groups = asked.lexicon.wordGroups(token),
        likes = this.similar({ token, unfinished });
      const wanted = new Map([[token, constants.exact], ...groups.map((group) => [group, constants.group])]);
      for (const [word, likeness] of likes) {
        if (!wanted.has(word)) wanted.set(word, constants.similar * likeness);
      }
      if (negated) {
        for (const [term, weight] of wanted) wanted.set(term, constants.negated * weight);
        for (const term of groups.length ? groups : [token]) {
          wanted.set(`!${term}`, groups.length ? constants.group : constants.exact);
          asked.said.set(`!${term}`, 1);
        }
      }
      asked.wanted.set(token, wanted);
      for (const term of [token, ...groups]) asked.said.set(term, 1);
      if (this.knownWords.has(token) || groups.length) return;
      for (const [word, likeness] of likes.slice(0, constants.learned_most)) {
        asked.said.set(word, Math.max(asked.said.get(word) || 0, constants.similar * likeness));
      }
    }

    texts(asked) {
      const { constants, core } = this,
        scale = constants.step / constants.levels;
      const total = new Float64Array(core.notes),
        best = new Float64Array(core.notes);
      for (const [token, wanted] of asked.wanted) {
        const exact = this.held(token),
          limit = exact ? exact.weight : Infinity,
          touched = [];
        for (const [term, weight] of wanted) {
          const held = this.held(term);
          if (!held) continue;
          const unit = weight * Math.min(held.weight, limit) * scale,
            { notes, levels } = held;
          for (let i = 0; i < notes.length; i++) {
            const value = unit * levels[i],
              note = notes[i];
            if (value <= best[note]) continue;
            if (!best[note]) touched.push(note);
            best[note] = value;
          }
        }
        for (const note of touched) {
          total[note] += best[note];
          best[note] = 0;
        }
      }
      for (const name of asked.named) {
        const held = this.held(name);
        if (!held) continue;
        const unit = (name[0] === "@" ? constants.device : constants.symptom) * held.weight * scale;
        for (let i = 0; i < held.notes.length; i++) total[held.notes[i]] += unit * held.levels[i];
      }
      return total;
    }

    showing(named) {
      const symptoms = [...named].filter((name) => name[0] === "~" && !this.core.codes.includes(name));
      const held = symptoms.map((name) => this.held(name)).filter(Boolean);
      const rarest = (one, other) => (other.weight > one.weight ? other : one);
      return new Set(held.length ? held.reduce(rarest).notes : []);
    }

    /* --- kinds.py --- */

    async kindsNear(kind) {
      const { constants, core, text } = this,
        tokens = text.tokens(kind);
      const lexicon = await this.lexicon(tokens),
        content = lexicon.content(tokens);
      const asked = content.length ? content : tokens;
      if (!asked.length) return null;
      const askedDevices = lexicon.named(content).filter((name) => name[0] === "@");
      if (!this.kindParts) {
        this.spread = new Map();
        this.kindParts = ["kind", "category"].flatMap((column) =>
          this.columns[column].names.map((name, number) => {
            const said = text.tokens(name),
              kept = this.home.content(said),
              own = kept.length ? kept : said;
            for (const token of new Set(own)) this.spread.set(token, (this.spread.get(token) || 0) + 1);
            return {
              column,
              number,
              said: own,
              device: column === "kind" ? core.devices[core.device_of[number]] : "",
            };
          }),
        );
      }
      const rarity = (token) => 1 / (1 + (this.spread.get(token) || 0));
      const sum = (some) => some.reduce((whole, token) => whole + rarity(token), 0);
      const alike = (one, other) =>
        one === other || ([...one].length > 3 && text.similarity(one, other) >= constants.stem_at_kind);
      let best = 0;
      const likes = this.kindParts
        .filter(({ said }) => said.length)
        .map(({ column, number, said, device }) => {
          let like = 2;
          if (said.join(" ") !== asked.join(" ")) {
            const mine = sum(asked.filter((token) => said.some((other) => alike(token, other))));
            like = Math.min(1, mine / Math.min(sum(asked), sum(said)));
            if (askedDevices.includes(device)) like = Math.max(like, constants.same_device);
          }
          best = Math.max(best, like);
          return { column, number, like };
        });
      const out = { kind: new Map(), category: new Map() };
      for (const { column, number, like } of likes) {
        if (like < constants.kind_like || (like < constants.kind_near && like < constants.kind_near * best))
          continue;
        out[column].set(number, best > 1 && like <= 1 ? constants.kind_inside : 1);
      }
      return out.kind.size || out.category.size ? out : null;
    }
  };
})();
