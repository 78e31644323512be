// @ts-check
/* likely.py */
const rounded = (number) => Math.floor(number * 1000000 + 0.5) / 1000000;

class Likely extends Asked {
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
}
