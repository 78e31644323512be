// @ts-check
// A query against the index in find/: the same steps under the same names as generator/finding/asked.py, kinds.py,
// likely.py, search.py and reasons.py. All that weighs comes out of the index. find-words.js and find-index.js must be
// loaded before it. No page here: find.js shows what this finds.
//
//   BenchloreFind.open(folder, stamp)                   -> index
//   index.search(query, kind, filters, most)            -> promise of what search.py calls Found
"use strict";
(() => {
  const { byUnits, NOT, STILL } = window.BenchloreWords;
  const CAUSES = 6; // counted causes that are shown
  const FILTERS = ["cause", "kind", "outcome", "part", "block", "bench", "source"];
  const SHORTEST_PART = 4,
    LINKS = ["", "s", "n", "en", "es", "er"]; // of compounds
  const rounded = (number) => Math.floor(number * 1000000 + 0.5) / 1000000;
  /* The places of some numbers of six places, largest first, equal ones in their order. */
  const inOrder = (numbers) => {
    const size = numbers.length;
    const keys = Float64Array.from(
      numbers,
      (number, i) => (1000000 - Math.round(number * 1000000)) * size + i,
    );
    return Array.from(keys.sort(), (key) => key % size);
  };

  class Index extends window.BenchloreReader {
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

    /* --- likely.py --- */

    /** @returns {[any, any]} */
    says(said) {
      const { learned } = this.core,
        told = [];
      const causes = learned.cause[0].map((bias) => bias / 100),
        kinds = learned.device[0].map((bias) => bias / 100);
      let square = 0;
      for (const [term, amount] of said) {
        const held = this.held(term);
        if (!held || !held.heads) continue;
        const value = amount * (Math.log((1 + this.core.paged) / (1 + held.heads)) + 1);
        square += value * value;
        told.push([value, held.causes, held.kinds]);
      }
      const length = Math.sqrt(square);
      for (const [value, cause, kind] of told) {
        for (const [number, weight] of this.learned(cause)) causes[number] += (weight * value) / length;
        for (const [number, weight] of this.learned(kind)) kinds[number] += (weight * value) / length;
      }
      const lift = (scores, shares) => {
        const most = scores.reduce((a, b) => Math.max(a, b), -Infinity);
        const whole = most + Math.log(scores.reduce((sum, score) => sum + Math.exp(score - most), 0));
        return scores.map((score, n) => score - whole - shares[n] / 100);
      };
      return [lift(causes, learned.cause[1]), lift(kinds, learned.device[1])];
    }

    /* P of each pair by its number; 0 for a pair that no note within the kind has. */
    likelihoods(share, say, [byCause, byKind], narrowed) {
      const { constants, pairs, pairsOf } = this;
      const texts = new Float64Array(pairs.length),
        notes = new Float64Array(pairs.length);
      for (let note = 0; note < share.length; note++) {
        if (say[note] <= 0) continue;
        const mine = pairsOf[note],
          text = say[note] * share[note] * share[note] * share[note];
        if (pairs[mine[0]][1] < 0) {
          texts[mine[0]] = Math.max(texts[mine[0]], text);
          notes[mine[0]] = 1;
          continue;
        }
        for (const pair of mine) {
          texts[pair] += text / mine.length;
          notes[pair] += say[note] / mine.length;
        }
      }
      const chances = new Float64Array(pairs.length).fill(-Infinity);
      let most = -Infinity,
        whole = 0;
      pairs.forEach(([device, cause], pair) => {
        if (!notes[pair]) return;
        let chance = constants.pair_texts * Math.log(texts[pair] + constants.pair_floor);
        chance += constants.pair_notes * Math.log(notes[pair]);
        if (cause >= 0) chance += constants.pair_cause * byCause[cause];
        if (device >= 0 && !narrowed) chance += constants.pair_kind * byKind[device];
        chances[pair] = chance;
        most = Math.max(most, chance);
      });
      const grown = chances.map((chance) => (chance === -Infinity ? 0 : Math.exp(chance - most)));
      for (const value of grown) whole += value;
      return grown.map((value) => (whole > 0 ? rounded(value / whole) : 0));
    }

    shares(text, say) {
      let best = 0,
        bestRow = 0;
      text.forEach((value, n) => {
        if (say[n] <= 0) return;
        if (n < this.core.paged) best = Math.max(best, value);
        else bestRow = Math.max(bestRow, value);
      });
      best ||= bestRow;
      return text.map((value) => (best > 0 ? rounded(Math.min(1, value / best)) : 0));
    }

    unseen(say, narrowed, strange) {
      const held = new Int32Array(this.columns.cause.names.length);
      this.causesOf.forEach((causes, note) => {
        if (say[note] > 0) for (const cause of causes) held[cause]++;
      });
      const once = held.filter((count) => count === 1).length,
        finds = held.reduce((sum, count) => sum + count, 0);
      const more = narrowed ? this.constants.other_finds : 0;
      const usual = (once + more * this.core.found_once) / (finds + more + 1);
      return strange ? Math.max(usual, 1 - this.core.found_elsewhere) : usual;
    }

    byCause(likely, temperature, unknown) {
      const sums = new Float64Array(this.columns.cause.names.length);
      this.pairs.forEach(([, cause], pair) => {
        if (cause >= 0 && likely[pair] > 0) sums[cause] += likely[pair] ** temperature;
      });
      const whole = sums.reduce((a, b) => a + b, 0);
      return sums.map((sum) => (whole > 0 ? rounded(((1 - unknown) * sum) / whole) : 0));
    }

    /* --- search.py --- */

    async search(query, kind = "", filters = {}, most = 10) {
      await this.open();
      const { core } = this,
        near = await this.kindsNear(kind);
      // What begins with the last word counts, unless the query goes on after it.
      const last =
        query.slice(-1).trim() && (near || !kind) ? this.text.tokens(query.slice(-200)).at(-1) : "";
      const asked = await this.takenApart(near || !kind ? query : `${query}\n${kind}`, last || "");
      await this.load([
        ...[...asked.wanted.values()].flatMap((wanted) => [...wanted.keys()]),
        ...asked.named,
        ...asked.said.keys(),
      ]);
      const say = this.say(near),
        share = this.shares(this.texts(asked), say),
        inside = [];
      for (let n = 0; n < core.notes; n++) if (say[n] > 0) inside.push(n);
      const fits = inside.some((n) => share[n] > 0);
      const found = {
        results: [],
        causes: [],
        total: 0,
        known: 0,
        clear: false,
        check: "",
        relaxed: false,
        facets: {},
        kinds: [],
        other: 0,
      };
      const same = this.showing(asked.named),
        least = this.constants.match;
      let matching = inside;
      if (fits) matching = inside.filter((n) => share[n] >= least || same.has(n));
      else if (near || Object.values(filters).some(Boolean) || !core.notes)
        found.relaxed = Boolean(near && asked.wanted.size);
      else return found;
      const likely = this.likelihoods(share, say, this.says(asked.said), Boolean(near));
      if (near) {
        const names = ["kind", "category"].flatMap((name) =>
          [...near[name].keys()].map((n) => this.columns[name].names[n]),
        );
        found.kinds = [...new Set(names)];
      }
      const closeness = fits ? share.map((value, n) => rounded(value * say[n])) : say;
      const counted = this.count(matching, closeness, filters),
        page = this.ranked(counted.shown, closeness, likely).slice(0, most);
      if (near && page.length < Math.min(most, this.constants.page)) {
        page.push(...this.filled(inside, counted, closeness, page, most));
      }
      const other = this.unseen(say, Boolean(near), Boolean(kind.trim()) && !near);
      const shares = this.byCause(
        likely,
        found.relaxed ? this.constants.relaxed : core.temperatures[near ? 1 : 0],
        other,
      );
      const [results] = await Promise.all([
        this.hits(asked, page),
        this.panel(found, counted, shares, other),
      ]);
      return { ...found, results, total: counted.shown.length, known: counted.known, facets: counted.facets };
    }

    say(near) {
      const say = new Float64Array(this.core.notes);
      if (!near) return say.fill(1);
      for (const name of ["kind", "category"]) {
        const { sets, place } = this.columns[name];
        const ofSet = sets.map((set) => set.reduce((most, n) => Math.max(most, near[name].get(n) || 0), 0));
        place.forEach((set, n) => {
          say[n] = Math.max(say[n], ofSet[set]);
        });
      }
      return say;
    }

    count(matching, closeness, filters) {
      const { columns, causesOf } = this;
      const passing = FILTERS.filter((name) => filters[name]).map((name) => {
        const { names, sets, place } = columns[name];
        return [name, place, sets.map((set) => set.some((n) => names[n] === filters[name]))];
      });
      const counts = FILTERS.map((name) => {
        return { name, place: columns[name].place, held: new Int32Array(columns[name].sets.length) };
      });
      const failing = (n) => passing.filter(([, place, passes]) => !passes[place[n]]);
      const nearest = new Map(),
        shown = [],
        facets = {};
      let known = 0;
      for (const n of matching) {
        const failed = passing.length ? failing(n) : passing,
          alone = failed.length === 1 ? failed[0][0] : "";
        if (!failed.length) shown.push(n);
        else if (!alone) continue;
        for (const { name, place, held } of counts) if (!alone || alone === name) held[place[n]]++;
        if (alone && alone !== "cause") continue;
        if (causesOf[n].length) known++;
        for (const cause of causesOf[n]) {
          if (!nearest.has(cause) || closeness[nearest.get(cause)] < closeness[n]) nearest.set(cause, n);
        }
      }
      for (const { name, held } of counts) {
        const byName = new Int32Array(columns[name].names.length);
        columns[name].sets.forEach((set, i) => {
          for (const n of set) byName[n] += held[i];
        });
        const pairs = columns[name].names.map((value, n) => [value, byName[n]]).filter((pair) => pair[1]);
        facets[name] = pairs.sort((a, b) => b[1] - a[1] || byUnits(a[0], b[0]));
      }
      return { shown, known, nearest, facets, passes: (n) => !failing(n).length };
    }

    async panel(found, { known, nearest, facets }, shares, other) {
      if (known < this.constants.few) return;
      const { names } = this.columns.cause,
        held = new Map(facets.cause);
      const every = [...nearest.keys()].map((cause) => [shares[cause], cause]);
      const ranked = every.sort((a, b) => b[0] - a[0] || byUnits(names[a[1]], names[b[1]])).slice(0, CAUSES);
      const cards = await Promise.all(ranked.map(([, cause]) => this.card(nearest.get(cause))));
      found.causes = ranked.map(([share, cause], i) => {
        return { cause: names[cause], notes: held.get(names[cause]), share, foundBy: cards[i][7] || "" };
      });
      found.other = rounded(other);
      found.clear = ranked[0][0] >= this.constants.clear;
      if (!found.clear) found.check = this.firstCheck(ranked.map(([share], i) => [share, cards[i]]));
    }

    async hits(asked, page) {
      const cards = await Promise.all(page.map(([, note]) => this.card(note)));
      return page.map(([score, note], i) => {
        const [slug, title, date = "", kind = "", symptoms = [], causes = [], outcome = "", foundBy = ""] =
          cards[i];
        const [source = "", address = ""] = cards[i].slice(9),
          why = this.reasons(asked, note, cards[i]);
        return { slug, title, date, kind, symptoms, causes, outcome, foundBy, score, why, source, address };
      });
    }

    ranked(shown, closeness, likely) {
      const { constants, pairsOf } = this,
        before = new Map(),
        order = inOrder(shown.map((n) => closeness[n]));
      const scores = order.map((place) => {
        const note = shown[place],
          pair = pairsOf[note].reduce((a, b) => (likely[b] > likely[a] ? b : a));
        const rank = before.get(pair) || 0;
        before.set(pair, rank + 1);
        return rounded((likely[pair] * Math.sqrt(closeness[note])) / (1 + constants.decay * rank));
      });
      return inOrder(scores).map((at) => [scores[at], shown[order[at]]]);
    }

    filled(inside, counted, closeness, page, most) {
      const room = Math.min(most, this.constants.page) - page.length,
        held = new Set(counted.shown);
      const others = inside.filter((n) => !held.has(n) && counted.passes(n)),
        last = page.length ? page.at(-1)[0] : 0;
      const nearest = inOrder(others.map((n) => closeness[n]))
        .slice(0, room)
        .map((place) => others[place]);
      return nearest.map((n) => [rounded(last * closeness[n]), n]);
    }
  }

  const opened = new Map();
  window.BenchloreFind = {
    Index,
    FILTERS,
    open: (folder, stamp) => {
      if (!opened.has(folder)) opened.set(folder, new Index(folder, stamp));
      return opened.get(folder);
    },
  };
})();
