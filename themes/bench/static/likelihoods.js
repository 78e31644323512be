// @ts-check
/* Readings held against everything that may be wrong: the same likelihood as the build (generator/diagnosis/evidence.py).
 *
 * likelihoodsOf(data): data as generator/diagnosis/helper.py gives it; its docstring says how the table is kept. No physics here.
 *   rank(readings)          [{failure, share, off, row, wrong}], best first; failure null for "nothing is wrong"
 *   next(readings, ranked)  [{place, gain, expected: [{failure, share, low, high}]}], best first
 * readings: [{place: number, value, low, high, open}], as readings.js reads them.
 */
"use strict";

const likelihoodsOf = (data) => {
  const { places, rule } = data,
    lines = data.rows.split("\n");
  let line = 0;
  /* The failures, which the table keeps by columns. */
  const { sizes, found, ...columns } = data.failures;
  const failures = sizes.map((own, n) => ({
    ...Object.fromEntries(Object.entries(columns).map(([name, column]) => [name, column[n]])),
    found: found.includes(n),
    rows: own.map((size) => [size, lines[line++]]),
  }));
  const codes = new Map([...rule.alphabet].map((letter, n) => [letter, n]));
  const base = rule.alphabet.length,
    middle = Math.floor(base ** 2 / 2);
  const soundMean = places.map(({ mean }) => mean ?? Infinity);
  const soundSpread = places.map(({ axes, own }) => {
    let sum = (own ?? 0) ** 2;
    for (let i = 1; i < axes.length; i += 2) sum += axes[i] ** 2 / rule.rectangle;
    return Math.sqrt(sum);
  });
  const wide = places.map(({ step }, n) => Math.max(soundSpread[n], rule.scatter * step));
  const meterSpread = (mean, unit) =>
    (rule.meter[unit] ?? rule.other)[0] * Math.abs(mean) + (rule.meter[unit] ?? rule.other)[1];

  /* A row: what one failure of one size shows at every place. */
  const unpacked = (cells) => {
    const mean = Float64Array.from(soundMean),
      times = new Float64Array(places.length).fill(1),
      common = new Float64Array(places.length).fill(1);
    let n = -1;
    for (let i = 0; i < cells.length;) {
      const skipped = codes.get(cells[i]);
      if (skipped === base - 1) {
        n += base - 1;
        i += 1;
        continue;
      }
      n += skipped + 1;
      const code = codes.get(cells[i + 1]) * base + codes.get(cells[i + 2]),
        count = code - middle + 2;
      const sound = Number.isFinite(soundMean[n]) ? soundMean[n] : 0;
      const shown = sound + Math.sign(count) * places[n].step * Math.expm1(Math.abs(count) * rule.grain);
      mean[n] =
        code === rule.open
          ? Infinity
          : code === rule.unknown
            ? NaN
            : code === rule.nought
              ? 0
              : places[n].unit === "ohm"
                ? Math.max(shown, 0)
                : shown;
      times[n] = Math.exp((codes.get(cells[i + 3]) - rule.same) * rule.wider);
      common[n] = (codes.get(cells[i + 4]) - rule.wholly) / rule.wholly;
      i += 5;
    }
    return { mean, times, common, size: null, weight: 1, width: null };
  };
  /* Sizes between two that the table has. */
  const between = (a, b, share) => {
    const row = {
      mean: a.mean.map((one, n) =>
        Number.isFinite(one) && Number.isFinite(b.mean[n])
          ? one + share * (b.mean[n] - one)
          : share < 0.5
            ? one
            : b.mean[n],
      ),
      times: a.times.map((one, n) => one + share * (b.times[n] - one)),
      common: a.common.map((one, n) => one + share * (b.common[n] - one)),
      size: a.size * (b.size / a.size) ** share,
      weight: 1,
      width: null,
    };
    return row;
  };
  const widened = (rows) => {
    const logs = rows.map(({ size }) => Math.log(size));
    const spans = rows.map(
      (_row, i) =>
        (i ? (logs[i] - logs[i - 1]) / 2 : 0) + (i + 1 < rows.length ? (logs[i + 1] - logs[i]) / 2 : 0),
    );
    if (rows.length > 1) {
      spans[0] *= 2;
      spans[rows.length - 1] *= 2;
    }
    const all = spans.reduce((sum, span) => sum + span, 0) || 1;
    rows.forEach((row, i) => {
      row.weight = rows.length > 1 ? spans[i] / all : 1;
      const before = rows[Math.max(i - 1, 0)],
        behind = rows[Math.min(i + 1, rows.length - 1)],
        steps = rows.length > 1 ? (i && i + 1 < rows.length ? 4 : 2) : 1;
      row.width = row.mean.map((_one, n) => {
        const gap = (behind.mean[n] - before.mean[n]) / steps;
        return Number.isFinite(gap) ? gap : 0;
      });
    });
    return rows;
  };
  const APART = 4; // sizes further apart than this have one between them
  const rowsOf = ({ rows }) => {
    const coarse = rows.map(([size, cells]) => ({ ...unpacked(cells), size }));
    if (coarse.length < 2) return coarse;
    const fine = [];
    coarse.forEach((row, i) => {
      fine.push(row);
      if (i + 1 < coarse.length && coarse[i + 1].size > APART * row.size)
        fine.push(between(row, coarse[i + 1], 0.5));
    });
    return widened(fine);
  };
  const health = {
    block: "",
    key: "",
    part: "",
    failed: "",
    mode: "none",
    weight: rule.health,
    rows: [[null, ""]],
  };
  const groups = [health, ...failures].map((failure) => ({
    failure: failure === health ? null : failure,
    weight: failure.weight,
    rows: rowsOf(failure),
  }));

  /* The covariance of the readings' places under a row. */
  const covariance = (row, readings) => {
    const found = readings.map(() => new Float64Array(readings.length));
    const along = readings.map(({ place }) => {
      const map = new Map(),
        axes = places[place].axes;
      for (let i = 0; i < axes.length; i += 2)
        map.set(axes[i], axes[i + 1] * row.times[place] * row.common[place]);
      return map;
    });
    readings.forEach((one, i) =>
      readings.forEach((other, j) => {
        let sum = 0;
        for (const [axis, shift] of along[i]) sum += shift * (along[j].get(axis) ?? 0);
        if (row.width) sum += row.width[one.place] * row.width[other.place];
        found[i][j] = sum / rule.rectangle;
      }),
    );
    readings.forEach(({ place }, i) => {
      let common = 0;
      for (const shift of along[i].values()) common += shift ** 2 / rule.rectangle;
      const gap = Number.isFinite(soundMean[place]) ? row.mean[place] - soundMean[place] : 0;
      found[i][i] +=
        Math.max((wide[place] * row.times[place]) ** 2 - common, 0) +
        (Number.isFinite(gap) && row.mean[place] !== 0 ? (rule.unsure * gap) ** 2 / rule.rectangle : 0);
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
      const times = rms && places[place].ripple ? 2 * Math.sqrt(3) : 1,
        finite = !open && Number.isFinite(low) && Number.isFinite(high);
      const shown = finite ? (value ?? (low + high) / 2) * times : NaN,
        spread = finite ? ((high - low) / 2) * times : 0;
      const floor = rule.floors[places[place].unit] ?? 0,
        figure = Math.abs(finite ? shown : 1);
      const size = figure <= spread ? spread * rule.zero : figure;
      const share = (2 * Math.max(spread, 1e-12)) / Math.max(size, 1e-12) / (rule.decades * Math.log(10));
      return { place, shown, spread, open: Boolean(open), floor, anything: Math.log(Math.min(share, 1)) };
    });

  /* As weigh() of evidence.py, for one row. */
  const weigh = (row, seen) => {
    const count = seen.length,
      never = Math.log(rule.wrong * rule.anything) - rule.never;
    const means = seen.map(({ place }) => row.mean[place]);
    const known = means.map((mean) => !Number.isNaN(mean));
    const numeric = means.map((mean, i) => Number.isFinite(mean) && !seen[i].open);
    const matched = means.map(
      (mean, i) =>
        (!numeric[i] && known[i] && (mean === Infinity) === seen[i].open) ||
        (mean === Infinity && places[seen[i].place].unit === "ohm" && seen[i].shown > rule.leak),
    );
    const matrix = covariance(row, seen);
    const gap = seen.map(({ shown }, i) => (numeric[i] ? shown - means[i] : 0));
    for (let i = 0; i < count; i += 1) {
      const value = Number.isFinite(seen[i].shown) ? Math.abs(seen[i].shown) : 0,
        mean = numeric[i] ? Math.abs(means[i]) : value;
      if (!numeric[i])
        for (let j = 0; j < count; j += 1) {
          matrix[i][j] = 0;
          matrix[j][i] = 0;
        }
      matrix[i][i] += Math.max(
        seen[i].spread ** 2 / 3 + seen[i].floor ** 2 + (rule.undrawn * Math.max(mean, value)) ** 2,
        1e-18,
      );
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
      total += -0.5 * z[i] * pulled[i] + (numeric[i] ? width[i] : 0);
      misses += (!numeric[i] && !matched[i] ? 1 : 0) + (known[i] ? 0 : 1e3);
    }
    total += rule.never * misses;
    const ways = [total];
    const swapped = seen.map((one, i) => {
      if (!numeric[i])
        return matched[i] ? -Infinity : total + never + (one.open ? -Math.log(rule.decades) : one.anything);
      const alone = 1 / precision[i][i],
        centre = z[i] - pulled[i] * alone;
      const given = -0.5 * pulled[i] ** 2 * alone - 0.5 * Math.log(alone) + width[i];
      const instead = [Math.log(rule.wrong * rule.anything) + one.anything];
      for (const factor of [10, 0.1]) {
        const moved = (one.shown * factor - means[i]) / scale[i] - centre;
        instead.push(
          Math.log(rule.wrong * rule.decade) -
            (0.5 * moved ** 2) / alone -
            0.5 * Math.log(alone) +
            width[i] +
            Math.log(factor),
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

  const rank = (readings) => {
    const seen = seenOf(readings);
    const found = groups.map(({ failure, weight, rows }) => {
      const logs = rows.map((row) => {
        const own = weigh(row, seen);
        return {
          ...own,
          row,
          log: Math.log(weight * row.weight) + (Number.isFinite(own.log) ? own.log : -1e6),
        };
      });
      const best = logs.reduce((one, other) => (other.log > one.log ? other : one));
      const fitting = logs.filter(({ log }) => log >= best.log + Math.log(0.1)).map(({ row }) => row);
      return {
        failure,
        weight,
        log: sumOfLogs(logs.map(({ log }) => log)),
        row: best.row,
        off: best.off,
        wrong: best.wrong,
        fitting,
        share: 0,
      };
    });
    const all = sumOfLogs([...found.map(({ log }) => log), rule.beyond * readings.length]);
    for (const own of found) own.share = Math.exp(own.log - all);
    found.sort((one, other) => other.share - one.share);
    return Object.assign(found, { beyond: Math.exp(rule.beyond * readings.length - all) });
  };

  /* The next measurement: as asking.py, what is expected to tell the likeliest failures apart, times how gladly it is taken. */
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
      const fitting = own.fitting,
        ends = readings.length && left.length < SIZED ? [fitting[0], fitting[fitting.length - 1]] : [];
      const row = readings.length
        ? own.row
        : groups
            .find(({ failure }) => failure === own.failure)
            .rows.at(
              -1 - Math.floor((groups.find(({ failure }) => failure === own.failure).rows.length - 1) / 2),
            );
      left.push({ failure: own.failure, share, rows: [...new Set([row, ...ends])] });
    }
    const sound = ranked.find(({ failure }) => !failure);
    left.push({
      failure: null,
      share: readings.length ? Math.max(HEALTH * sound.share, 1e-6) : 1,
      rows: [sound.row],
    });
    return left;
  };
  const spreadAt = (row, n) => {
    const mean = row.mean[n],
      unit = places[n].unit,
      sound = wide[n] * row.times[n];
    const width = row.width ? row.width[n] ** 2 / rule.rectangle : 0;
    return Number.isFinite(mean) ? Math.sqrt(sound ** 2 + width + meterSpread(mean, unit) ** 2) : 0;
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
            return means[a] === means[t] ? 1 : LEAST;
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
      const worth = ((1 - WITHIN) * Math.max(gain[0], 0) + WITHIN * Math.max(gain[1], 0)) * place.ease;
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
  return { rank, next, bandOf, health: groups[0].rows };
};
if (typeof module !== "undefined") module.exports = { likelihoodsOf };
