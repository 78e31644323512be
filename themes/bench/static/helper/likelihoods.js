// @ts-check
/* Readings held against everything that may be wrong: the same likelihood as the build (generator/diagnosis/evidence.py).
 *
 * likelihoodsOf(table)(readings)   table: of failuresOf(); readings: [{place: number, value, low, high, open, rms}], as readings.js
 *   reads them. Gives [{failure, share, off, row, wrong, fitting}], best first, failure null for "nothing is wrong"; with beyond:
 *   the share of what is none of them.
 */
"use strict";

const likelihoodsOf = (table) => {
  const { places, rule, soundMean, wide, groups } = table;
  const [timesDue, leastRange, chanceEnded] = rule.range,
    [leastBeside, forward] = rule.driven,
    [leastLogged, reaching, mostReaching] = rule.logged;
  /* How far a failure moves a place, as unsure() of inference.py has it: what is gone is gone. */
  const moved = (row, place) => {
    const gap = Math.min(Math.abs(row.mean[place] - soundMean[place]), Math.abs(row.mean[place]));
    return Number.isFinite(gap) ? gap : 0;
  };
  /* Half the band of a place along each of its axes under a row. */
  const alongOf = (row, place) => {
    const map = new Map(),
      axes = places[place].axes;
    for (let i = 0; i < axes.length; i += 2)
      map.set(axes[i], axes[i + 1] * row.times[place] * row.common[place]);
    return map;
  };
  /* Of a contact's drop on a logarithmic scale, {middle, ratio}: of its mean, and of a share of that; null for what is on none. As
   * in_decades() of evidence.py. */
  const inDecades = (row, { place, shown, decades }) => {
    const mean = row.mean[place];
    if (!decades || !(shown > 0) || !(mean > leastLogged) || !Number.isFinite(mean)) return null;
    const ratios = [...alongOf(row, place).values()].map((shift) =>
      Math.min(Math.abs(shift / mean), mostReaching),
    );
    if (!(Math.max(0, ...ratios) > reaching)) return null;
    const middle = ratios.reduce((sum, ratio) => sum + 0.5 * Math.log1p(-(ratio ** 2)), Math.log(mean));
    return { middle, mean };
  };
  /* The covariance of the readings' places under a row. logged: as inDecades() of each. */
  const covariance = (row, readings, logged) => {
    const found = readings.map(() => new Float64Array(readings.length));
    const scaled = (i, shift) => {
      if (!logged[i]) return shift;
      const ratio = shift / logged[i].mean;
      return readings[i].shown * Math.atanh(Math.sign(ratio) * Math.min(Math.abs(ratio), mostReaching));
    };
    const plain = readings.map(({ place }) => alongOf(row, place));
    const along = plain.map((map, i) => new Map([...map].map(([axis, shift]) => [axis, scaled(i, shift)])));
    readings.forEach((one, i) =>
      readings.forEach((other, j) => {
        let sum = 0;
        for (const [axis, shift] of along[i]) sum += shift * (along[j].get(axis) ?? 0);
        if (row.width) sum += scaled(i, row.width[one.place]) * scaled(j, row.width[other.place]);
        found[i][j] = sum / rule.trapezoid;
      }),
    );
    readings.forEach(({ place }, i) => {
      let common = 0;
      for (const shift of plain[i].values()) common += shift ** 2 / rule.trapezoid;
      const own = Math.sqrt(Math.max((wide[place] * row.times[place]) ** 2 - common, 0) * rule.trapezoid);
      found[i][i] += (scaled(i, own) ** 2 + scaled(i, rule.unsure * moved(row, place)) ** 2) / rule.trapezoid;
    });
    return found;
  };
  /* The inverse of a symmetric matrix and the logarithm of its determinant, by Gauss and Jordan. */
  const inverse = (matrix) => {
    const size = matrix.length,
      work = matrix.map((row, i) => [...row, ...row.map((_value, j) => (i === j ? 1 : 0))]);
    let log = 0;
    for (let k = 0; k < size; k += 1) {
      let pivot = k;
      for (let i = k + 1; i < size; i += 1) if (Math.abs(work[i][k]) > Math.abs(work[pivot][k])) pivot = i;
      [work[k], work[pivot]] = [work[pivot], work[k]];
      const own = work[k][k] || 1e-12;
      log += Math.log(Math.abs(own));
      for (let j = 0; j < 2 * size; j += 1) work[k][j] /= own;
      for (let i = 0; i < size; i += 1)
        if (i !== k && work[i][k]) {
          const f = work[i][k];
          for (let j = 0; j < 2 * size; j += 1) work[i][j] -= f * work[k][j];
        }
    }
    return { rows: work.map((row) => row.slice(size)), log };
  };
  const sumOfLogs = (values) => {
    const top = Math.max(...values);
    return top === -Infinity
      ? top
      : top + Math.log(values.reduce((sum, value) => sum + Math.exp(value - top), 0));
  };

  const seenOf = (readings) =>
    readings.map(({ place, value, low, high, open, rms }) => {
      const times = rms && places[place].ripple ? table.rms : 1,
        finite = !open && Number.isFinite(low) && Number.isFinite(high);
      const shown = finite ? (value ?? (low + high) / 2) * times : NaN,
        spread = finite ? ((high - low) / 2) * times : 0;
      const floor = rule.floors[places[place].unit] ?? 0,
        figure = Math.abs(finite ? shown : 1);
      const size = figure <= spread ? spread * rule.zero : figure;
      const share = (2 * Math.max(spread, 1e-12)) / Math.max(size, 1e-12) / (rule.decades * Math.log(10));
      const opens = places[place].unit === "ohm" ? (places[place].opens ?? rule.leak) : Infinity;
      const leakFrom = Math.min(opens, rule.most_leak / 10);
      const leak = Math.max(shown - (places[place].behind ?? 0), leastBeside * leakFrom, 1);
      const leaking = Math.log(Math.min((2 * spread) / leak / Math.log(rule.most_leak / leakFrom), 1));
      return {
        place,
        shown,
        spread,
        open: Boolean(open),
        floor,
        anything: Math.log(Math.min(share, 1)),
        leaking,
        opens,
        decades: places[place].drops,
        least:
          finite &&
          opens < Math.min(rule.leak, shown) &&
          shown < forward &&
          high < (places[place].mean ?? Infinity) / 2,
        over:
          places[place].how === "ohms"
            ? Math.max(leastRange, timesDue * (places[place].mean ?? Infinity))
            : Infinity,
      };
    });

  /* Log-probability of what is read where no number is held against another: as without_number() of evidence.py. */
  const withoutNumber = (mean, { place, shown, open, opens, over, least, leaking }) => {
    const number = Number.isFinite(mean),
      ends = mean > rule.dim && places[place].how === "diode";
    if (open) return !number || ends ? 0 : mean > over ? Math.log(chanceEnded) : -Infinity;
    return (least ? !(mean < leastBeside * shown) : !number && shown > opens) ? leaking : -Infinity;
  };

  /* As own_variance() of evidence.py. */
  const ownVariance = (spread, floor, largest) =>
    spread ** 2 / 3 + floor ** 2 + (rule.undrawn * largest) ** 2;

  const nats = (off, variance) => (off ** 2 / variance + Math.log(variance)) / 2;

  /* As weigh() of evidence.py, for one row. */
  const weigh = (row, seen) => {
    const count = seen.length,
      never = Math.log(rule.wrong * rule.anything) - rule.never;
    const means = seen.map(({ place }) => row.mean[place]);
    const known = means.map((mean) => !Number.isNaN(mean));
    const numeric = means.map((mean, i) => Number.isFinite(mean) && !seen[i].open && !seen[i].least);
    const met = means.map((mean, i) => (known[i] ? withoutNumber(mean, seen[i]) : 0));
    const matched = means.map((_mean, i) => !numeric[i] && known[i] && met[i] > -Infinity);
    const logged = seen.map((one, i) => (numeric[i] ? inDecades(row, one) : null));
    const matrix = covariance(row, seen, logged);
    const gap = seen.map(({ shown }, i) => {
      if (!numeric[i]) return 0;
      return logged[i] ? shown * (Math.log(shown) - logged[i].middle) : shown - means[i];
    });
    const own = [];
    for (let i = 0; i < count; i += 1) {
      const value = Number.isFinite(seen[i].shown) ? Math.abs(seen[i].shown) : 0,
        mean = numeric[i] && !logged[i] ? Math.abs(means[i]) : value;
      if (!numeric[i])
        for (let j = 0; j < count; j += 1) {
          matrix[i][j] = 0;
          matrix[j][i] = 0;
        }
      own[i] = ownVariance(seen[i].spread, seen[i].floor, Math.max(mean, value));
      matrix[i][i] += Math.max(own[i], 1e-18);
      matrix[i][i] += rule.own * matrix[i][i];
    }
    const scale = matrix.map((own, i) => Math.sqrt(own[i]));
    const { rows: precision, log } = inverse(
      matrix.map((own, i) => [...own].map((value, j) => value / scale[i] / scale[j])),
    );
    const z = gap.map((value, i) => value / scale[i]);
    const pulled = precision.map((own) => own.reduce((sum, value, j) => sum + value * z[j], 0));
    const width = seen.map(
      ({ spread }, i) =>
        Math.log(2 * Math.max(spread, 1e-12)) - Math.log(scale[i]) - 0.5 * Math.log(2 * Math.PI),
    );
    let total = -0.5 * log,
      misses = 0;
    for (let i = 0; i < count; i += 1) {
      total += -0.5 * z[i] * pulled[i] + (numeric[i] ? width[i] : matched[i] ? met[i] : 0);
      misses += (!numeric[i] && !matched[i] ? 1 : 0) + (known[i] ? 0 : 1e3);
    }
    total += rule.never * misses;
    const ways = [total];
    const swapped = seen.map((one, i) => {
      if (!numeric[i])
        return matched[i] ? -Infinity : total + never + (one.open ? -Math.log(rule.decades) : one.anything);
      const alone = 1 / precision[i][i],
        centre = z[i] - pulled[i] * alone;
      const given = width[i] - nats(pulled[i] * alone, alone);
      const instead = [Math.log(rule.wrong * rule.anything) + one.anything];
      const parts = Math.max(alone * scale[i] ** 2 - own[i], 0);
      for (const [factor, chance] of rule.slips) {
        const shown = one.shown / factor,
          further = logged[i] ? -one.shown * Math.log(factor) : shown - one.shown;
        const meant = ownVariance(
          one.spread / factor,
          one.floor,
          Math.max(Math.abs(means[i]), Math.abs(shown)),
        );
        const variance = logged[i] ? alone : (parts + meant) / scale[i] ** 2;
        instead.push(
          Math.log((rule.wrong * chance) / (logged[i] ? 1 : factor)) -
            nats(z[i] + further / scale[i] - centre, variance) +
            width[i],
        );
      }
      return total + sumOfLogs(instead) - given;
    });
    ways.push(...swapped);
    const keep = count * Math.log1p(-rule.wrong),
      whole = sumOfLogs(ways);
    return {
      log: whole + keep,
      off: z.map((value, i) => (numeric[i] ? Math.abs(value) : matched[i] ? 0 : Infinity)),
      wrong: swapped.map((value) => Math.min(1, Math.exp(value - whole))),
    };
  };

  /* The sizes of a failure near where it fits, in place of the two that fit best: as _refined() of inference.py. */
  const refined = ({ rows, nodes }, best) => {
    const kept = rows.filter((row) => !best.includes(row)),
      logs = rows.map(({ size }) => Math.log(size));
    const finer = best.flatMap((row) => {
      const at = rows.indexOf(row),
        half = (logs[1] - logs[0]) / 2,
        low = at ? (logs[at - 1] + logs[at]) / 2 : logs[at] - half,
        high = at + 1 < logs.length ? (logs[at] + logs[at + 1]) / 2 : 2 * logs[at] - low;
      return Array.from({ length: rule.steps }, (_row, step) => ({
        ...table.between(nodes, Math.exp(low + ((high - low) * (step + 0.5)) / rule.steps)),
        weight: row.weight / rule.steps,
      }));
    });
    const all = table.widened([...kept.map((row) => ({ ...row })), ...finer].sort((a, b) => a.size - b.size));
    return all.map((row) => kept.find(({ size }) => size === row.size) ?? row);
  };

  return (readings) => {
    const seen = seenOf(readings),
      read = new Set(readings.map(({ place }) => place));
    const weighed = (weight, rows) =>
      rows.map((row) => {
        const own = weigh(row, seen);
        const log = Number.isFinite(own.log) ? own.log : -1e6;
        return { ...own, row, log: Math.log(weight * row.weight) + log };
      });
    /* What shows at no place that was read is the sound device once more. */
    const shows = (row, n) => !n || [...read].some((place) => row.mean[place] !== soundMean[place]);
    const tried = groups
      .filter(({ asked }) => !asked || asked.some((place) => read.has(place)))
      .map((group) => {
        const { failure, weight, rows } = group;
        return { group, logs: weighed(weight, failure ? rows : rows.filter(shows)) };
      });
    const likeliest = tried
      .flatMap((own) => own.logs.map((one) => ({ own, one })))
      .sort((a, b) => b.one.log - a.one.log);
    const chosen = new Map();
    for (const { own, one } of likeliest) {
      if (one.log < likeliest[0].one.log + Math.log(rule.worth)) break;
      if (own.group.rows.length < 2 || !own.group.failure) continue;
      if (!chosen.has(own) && chosen.size === rule.refined) continue;
      chosen.set(own, [...(chosen.get(own) ?? []), one.row]);
    }
    for (const [own, rows] of chosen)
      own.logs = weighed(own.group.weight, refined(own.group, rows.slice(0, 2)));
    const found = tried.map(({ group: { failure, weight, told }, logs }) => {
      const best = logs.reduce((one, other) => (other.log > one.log ? other : one));
      const fitting = logs.filter(({ log }) => log >= best.log + Math.log(0.1)).map(({ row }) => row);
      const { row, off, wrong } = best,
        log = sumOfLogs(logs.map((own) => own.log));
      return { failure, weight: weight * told, log, row, off, wrong, fitting, share: 0 };
    });
    const beyond = rule.beyond * readings.length,
      unseen = Math.log(table.unseen / rule.health) + tried[0].logs[0].log,
      all = sumOfLogs([...found.map(({ log }) => log), beyond, unseen]);
    for (const own of found) own.share = Math.exp(own.log - all);
    found.sort((one, other) => other.share - one.share);
    const sound = found.findIndex(({ failure }) => !failure),
      [toldFrom, times] = rule.told;
    if (found[0].share < toldFrom && found[sound].share * times >= found[0].share)
      found.unshift(...found.splice(sound, 1));
    return Object.assign(found, { beyond: Math.exp(beyond - all) });
  };
};
if (typeof module !== "undefined") module.exports = { likelihoodsOf };
