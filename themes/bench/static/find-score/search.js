// @ts-check
/* search.py */
(() => {
  const { byUnits } = window.BenchloreWords;
  const CAUSES = 6; // counted causes that are shown
  const FILTERS = ["cause", "kind", "outcome", "part", "block", "bench", "source"];
  /* The places of some numbers of six places, largest first, equal ones in their order. */
  const inOrder = (numbers) => {
    const size = numbers.length;
    const keys = Float64Array.from(
      numbers,
      (number, i) => (1000000 - Math.round(number * 1000000)) * size + i,
    );
    return Array.from(keys.sort(), (key) => key % size);
  };

  class Index extends Likely {
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
