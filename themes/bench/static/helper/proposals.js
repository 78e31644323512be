// @ts-check
/* The next measurement, as generator/diagnosis/asking.py: what is expected to tell the likeliest failures apart, times how gladly it
 * is taken.
 *
 * proposalsOf(table)   table: of failuresOf()
 *   next(readings, ranked)  [{place, gain, expected: [{failure, share, low, high}]}], best first; ranked: as likelihoodsOf() gives it
 *   bandOf(rows, place)     {low, high} of what a meter would show
 */
"use strict";

const proposalsOf = ({ places, rule, soundMean, wide, groups, beginning }) => {
  const meterSpread = (mean, unit) =>
    (rule.meter[unit] ?? rule.other)[0] * Math.abs(mean) + (rule.meter[unit] ?? rule.other)[1];
  const MOST = 32,
    SIZED = 12,
    LIKELY = 2e-3,
    ENOUGH = 0.9,
    WORTH = 0.02,
    WITHIN = 0.4,
    HEALTH = 0.2,
    FIRST = 40,
    LEAST = 1e-4;
  const candidates = (readings, ranked) => {
    const shareOf = ({ failure, share, weight }) =>
      readings.length ? share : weight * (failure?.found ? 20 : 1);
    const faults = ranked
      .filter(({ failure }) => failure)
      .sort((one, other) => shareOf(other) - shareOf(one));
    const total = faults.reduce((sum, own) => sum + shareOf(own), 0),
      left = [];
    let seen = 0;
    for (const own of faults.slice(0, readings.length ? MOST : FIRST)) {
      const share = shareOf(own);
      if (
        readings.length &&
        (share < LIKELY * shareOf(faults[0]) || (seen > ENOUGH * total && left.length >= SIZED))
      )
        break;
      seen += share;
      const { rows } = groups.find(({ failure }) => failure === own.failure),
        ends = readings.length && left.length < SIZED ? [own.fitting[0], own.fitting.at(-1)] : [],
        row = readings.length ? own.row : rows.at(-1 - Math.floor((rows.length - 1) / 2));
      left.push({ failure: own.failure, share, rows: [...new Set([row, ...ends])] });
    }
    const sound = ranked.find(({ failure }) => !failure);
    left.push({
      failure: null,
      share: readings.length ? Math.max(HEALTH * sound.share, 1e-6) : beginning.health,
      rows: [sound.row],
    });
    return left;
  };
  const spreadAt = (row, n) => {
    const mean = row.mean[n],
      unit = places[n].unit,
      sound = wide[n] * row.times[n];
    const width = row.width ? row.width[n] ** 2 / rule.trapezoid : 0;
    return Number.isFinite(mean) ? Math.sqrt(sound ** 2 + width + meterSpread(mean, unit) ** 2) : 0;
  };
  /* As ease_at_first() of probing.py. */
  const atFirst = ({ ease, when }) => {
    const [from, less, later] = rule.beginning,
      own = ease >= from ? ease : ease * less;
    return !when || when === beginning.state ? own : own * later;
  };
  const next = (readings, ranked) => {
    const left = candidates(readings, ranked);
    if (left.length < 2) return [];
    const taken = new Set(readings.map(({ place }) => place)),
      rows = [];
    left.forEach((own, n) =>
      own.rows.forEach((row) =>
        rows.push({
          row,
          n,
          share: own.share / own.rows.length,
          part: own.failure ? `${own.failure.block}|${own.failure.key}` : "",
        }),
      ),
    );
    const all = rows.reduce((sum, { share }) => sum + share, 0);
    const groupSum = (same) =>
      rows.map((one) => rows.reduce((sum, other) => sum + (same(one, other) ? other.share : 0), 0));
    const alike = [(one, other) => one.part === other.part, (one, other) => one.n === other.n],
      before = alike.map(groupSum);
    const found = [];
    places.forEach((place, p) => {
      if (taken.has(p)) return;
      const means = rows.map(({ row }) => row.mean[p]);
      const variance = rows.map(
        ({ row }, i) =>
          spreadAt(row, p) ** 2 +
          (Number.isFinite(means[i]) && Number.isFinite(soundMean[p])
            ? (rule.unsure * (means[i] - soundMean[p])) ** 2
            : 0),
      );
      const gain = [0, 0];
      rows.forEach((truth, t) => {
        const seen = rows.map((_row, a) => {
          if (Number.isNaN(means[a]) || Number.isNaN(means[t])) return 1;
          if (!Number.isFinite(means[a]) || !Number.isFinite(means[t]))
            return means[a] === means[t] ||
              (means[a] === Infinity && place.unit === "ohm" && means[t] > (place.opens ?? rule.leak))
              ? 1
              : LEAST;
          return Math.max(
            Math.exp((-0.5 * (means[a] - means[t]) ** 2) / Math.max(variance[a] + variance[t], 1e-18)),
            LEAST,
          );
        });
        const whole = rows.reduce((sum, { share }, a) => sum + share * seen[a], 0);
        alike.forEach((same, k) => {
          const own = rows.reduce(
            (sum, other, a) => sum + (same(truth, other) ? other.share * seen[a] : 0),
            0,
          );
          gain[k] += (truth.share / all) * (Math.log2(own / whole) - Math.log2(before[k][t] / all));
        });
      });
      const worth =
        ((1 - WITHIN) * Math.max(gain[0], 0) + WITHIN * Math.max(gain[1], 0)) *
        (readings.length ? place.ease : atFirst(place));
      if (worth > WORTH) found.push({ place: p, gain: worth });
    });
    found.sort((one, other) => other.gain - one.gain);
    return found
      .slice(0, 8)
      .map(({ place, gain }) => ({
        place,
        gain,
        expected: left.map(({ failure, share, rows: own }) => ({ failure, share, ...bandOf(own, place) })),
      }));
  };
  /* What a meter would show at a place, two standard deviations each way; null where nothing is known. */
  const bandOf = (rows, place) => {
    const known = rows.filter(({ mean }) => !Number.isNaN(mean[place]));
    if (!known.length) return { low: null, high: null };
    const low = Math.min(...known.map((row) => row.mean[place] - 2 * spreadAt(row, place)));
    const high = Math.max(...known.map((row) => row.mean[place] + 2 * spreadAt(row, place)));
    return { low: known.every(({ mean }) => mean[place] >= 0) ? Math.max(low, 0) : low, high };
  };
  return { next, bandOf, health: groups[0].rows.slice(0, 1) };
};
if (typeof module !== "undefined") module.exports = { proposalsOf };
