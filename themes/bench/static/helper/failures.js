// @ts-check
/* What a page carries of each failure (generator/diagnosis/helper.py, packing.py), as numbers. No physics here.
 *
 * failuresOf(data)  {places, groups, soundMean, wide, taken, ...}
 *   groups: [{failure, weight, told, rows, asked}], the sound device first, its failure null
 *   rows, by size: {mean, times, common: at each place; size, weight: its share of the group's; width: half the way to its neighbours}
 */
"use strict";

const failuresOf = (data) => {
  const { places, rule } = data;
  const { sizes, fine, knots, found, with: besides, asked, ...columns } = data.failures;
  const soundMean = places.map(({ mean }) => mean ?? Infinity);
  const soundSpread = places.map(({ axes, own }) => {
    let sum = (own ?? 0) ** 2;
    for (let i = 1; i < axes.length; i += 2) sum += axes[i] ** 2 / rule.trapezoid;
    return Math.sqrt(sum);
  });
  const wide = places.map(({ step }, n) => Math.max(soundSpread[n], rule.scatter * step));

  const one = (size) => ({
    size,
    weight: 1,
    width: null,
    mean: Float64Array.from(soundMean),
    times: new Float64Array(places.length).fill(1),
    common: new Float64Array(places.length).fill(1),
  });
  const sound = one(null),
    coarse = sizes.map((own) => own.map(one)),
    finer = fine.map((own) => own.map(one)),
    rows = [...coarse.flat(), ...finer.flat()];
  const codes = new Map([...rule.alphabet].map((letter, n) => [letter, n])),
    base = rule.alphabet.length;
  const shown = (code, about, step) => {
    if (code === rule.open) return Infinity;
    if (code === rule.unknown) return NaN;
    const nil = code > 2 * rule.half,
      count = code - (nil ? rule.nil : rule.half),
      size = (nil ? step / rule.finer : step) * Math.expm1(Math.abs(count) * rule.grain);
    return (nil ? 0 : about) + Math.sign(count) * size;
  };
  /* What the cells say of some rows; between() below is what they leave out of the fine ones. */
  const fill = (from, to) =>
    places.forEach(({ cells, step, unit }, n) => {
      let row = -1;
      for (let i = 0; i < cells.length; i += 5) {
        for (; codes.get(cells[i]) === base - 1; i += 1) row += base - 1;
        const [skipped, high, low, wider, share] = [...cells.slice(i, i + 5)].map((letter) =>
          codes.get(letter),
        );
        row += skipped + 1;
        if (row < from || row >= to) continue;
        const mean = shown(high * base + low, Number.isFinite(soundMean[n]) ? soundMean[n] : 0, step);
        rows[row].mean[n] = unit === "ohm" ? Math.max(mean, 0) : mean;
        rows[row].times[n] = Math.exp((wider - rule.same) * rule.wider);
        rows[row].common[n] = (share - rule.wholly) / rule.wholly;
      }
    });

  /* A row for a size between those of others: what each place shows there, by a straight line over the logarithm of sizes. */
  const between = (nodes, size) => {
    const above = nodes.findIndex((row) => row.size >= size),
      last = nodes.length - 1,
      at = Math.min(Math.max(above < 0 ? last : above, 1), last),
      b = nodes[at],
      a = nodes[Math.max(at - 1, 0)],
      part = a === b ? 0 : Math.max(Math.log(size / a.size) / Math.log(b.size / a.size), 0);
    const row = one(size);
    for (const name of ["mean", "times", "common"])
      for (let n = 0; n < places.length; n += 1) {
        const ends = [a[name][n], b[name][n]];
        row[name][n] = ends.every(Number.isFinite)
          ? ends[0] + part * (ends[1] - ends[0])
          : ends[part < 0.5 ? 0 : 1];
      }
    return row;
  };
  const FEW = coarse.flat().length;
  fill(0, FEW);
  finer.forEach((own, n) => own.forEach((row) => Object.assign(row, between(coarse[n], row.size))));
  fill(FEW, rows.length);
  const bySize = (own) => own.sort((a, b) => a.size - b.size);
  /* Half of how far a place moves from one size's neighbour to the other: a size lies anywhere between. As np.gradient. */
  const widened = (own) => {
    own.forEach((row, i) => {
      const before = own[Math.max(i - 1, 0)],
        behind = own[Math.min(i + 1, own.length - 1)],
        steps = i && i + 1 < own.length ? 4 : 2;
      row.width = row.mean.map((_mean, n) => {
        const gap = (behind.mean[n] - before.mean[n]) / steps;
        return Number.isFinite(gap) ? gap : 0;
      });
    });
    return own;
  };
  /* Sizes of one failure are as likely, but what is shorted has mostly next to nothing left. */
  const shared = (own, mode) => {
    const shares = own.map(({ size }) =>
      mode === "short" && size ? Math.min(1, Math.sqrt(rule.shorted / size)) : 1,
    );
    const all = shares.reduce((sum, share) => sum + share, 0);
    own.forEach((row, i) => (row.weight = shares[i] / all));
    return own;
  };
  const APART = 4; // sizes further apart than this have one between them
  const rowsOf = (n, mode) => {
    const few = bySize(coarse[n]);
    if (sizes[n][0] === null) return { rows: few, nodes: few };
    const nodes = bySize([...few, ...finer[n]]),
      knot = knots.includes(n) ? finer[n].at(-1) : null,
      own = nodes.filter((row) => row !== knot);
    if (!finer[n].length)
      for (let i = few.length - 1; i > 0; i -= 1)
        if (few[i].size > APART * few[i - 1].size)
          own.splice(i, 0, between(few, Math.sqrt(few[i].size * few[i - 1].size)));
    return { rows: widened(shared(own, mode)), nodes };
  };
  const pick = (table, n) =>
    Object.fromEntries(Object.entries(table).map(([name, column]) => [name, column[n]]));
  const all = sizes.map((_own, n) => ({
    failure: { ...pick(columns, n), found: found.includes(n), also: besides[n] ?? null },
    weight: columns.weight[n],
    told: columns.told[n] / 9,
    asked: asked[n],
    ...rowsOf(n, columns.mode[n]),
  }));
  /* A button that somebody holds is no failure, nor what a rail lets through: it is the sound device by another row. */
  const held = all
    .filter(({ failure }) => failure.mode === "none")
    .flatMap(({ weight, rows: own }) => own.map((row) => ({ ...row, weight: weight * row.weight })));
  const health = {
    failure: null,
    weight: 1,
    told: data.first.health,
    rows: [{ ...sound, weight: rule.health }, ...held],
  };
  /* A reading at the place that it belongs to: volts with a minus sign are across a part from its own first end, AC volts on
     direct current are the ripple there, or at the contact of that name. read: as readings.js gives it. */
  const taken = (place, { value, low, high, state, range }) => {
    const { ac_at, turned } = places[place],
      rms = range === "ac",
      [from, to] = turned && high < 0 ? [-high, -low] : [low, high];
    return {
      place: rms ? (ac_at ?? place) : place,
      value: from === low ? value : value && -value,
      low: from,
      high: to,
      open: state === "open",
      rms,
    };
  };
  return {
    taken,
    rms: 2 * Math.sqrt(3), // a sawtooth from peak to peak over its RMS
    places,
    rule,
    soundMean,
    wide,
    widened,
    between,
    unseen: data.unseen,
    beginning: data.first,
    groups: [health, ...all.filter(({ failure }) => failure.mode !== "none")],
  };
};
if (typeof module !== "undefined") module.exports = { failuresOf };
