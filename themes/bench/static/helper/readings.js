// @ts-check
// What a meter shows, as people write it, read as generator/notation/reading.py reads it: same words, same numbers.
// Words, units and figures come with the page (reading.table()); a test compares the two readers over a long list.
"use strict";

/** @param {any} table what reading.table() gives @param {{share: number, counts: number}} meter */
const readingsOf = (table, meter) => {
  const patterns = table.patterns;
  const has = (object, key) => Object.hasOwn(object, key);
  const LETTER_POINT = /^([0-9]*)([RVAFLfpnuµμmkKMG])([0-9]+)\s*(.*)$/;
  const PLAIN = new RegExp(`^(${patterns.number})\\s*(.*)$`);
  const BARE = new RegExp(`^(?:${patterns.number})$`);
  const LETTERED = new RegExp(`^(?:${table.lettered})$`);
  const IN_WORDS = new RegExp(patterns.inWords, "g");
  const THOUSANDS = /^[1-9][0-9]{0,2},[0-9]{3}$/;
  const exact = (value) => Number(value.toPrecision(15));
  const figure = (text) => Number(text.replace(",", "."));

  /* What a suffix multiplies by; null where it is no unit of what is wanted. */
  const factorOf = (suffix, unit) => {
    const text = suffix.trim();
    const known = has(table.units, text) ? table.units[text] : null;
    if (known && known[0] === unit) return known[1];
    if (unit === "F" && /^([pnuµμm]f|[PNU][Ff])$/.test(text)) return table.prefixes[text[0].toLowerCase()];
    if (has(table.prefixes, text) && unit !== "°C" && unit !== "degree" && (text !== "K" || unit !== "K"))
      return table.prefixes[text];
    const [head, rest] = [text.slice(0, 1), text.slice(1).trim()];
    if (has(table.prefixes, head) && has(table.units, rest) && table.units[rest][0] === unit)
      return table.prefixes[head] * table.units[rest][1];
    return null;
  };
  const numberOf = (body, unit) => {
    const text = body.trim(),
      point = text.match(LETTER_POINT);
    if (point && (point[1] || (table.pointFirst[unit] ?? "R").includes(point[2]))) {
      const [, whole, letter, fraction, rest] = point,
        value = Number(`${whole || 0}.${fraction}`);
      const own = table.own[letter];
      if (own) return own === unit && (!rest.trim() || factorOf(rest, unit) !== null) ? value : null;
      const factor = factorOf(rest, unit);
      return factor === null ? null : exact(value * table.prefixes[letter] * factor);
    }
    const plain = text.match(PLAIN);
    if (!plain || THOUSANDS.test(plain[1])) return null;
    const factor = factorOf(plain[2], unit);
    return factor === null ? null : exact(figure(plain[1]) * factor);
  };
  const usual = (value, unit) => {
    const [smallest, largest] = table.limits[unit];
    if (!Number.isFinite(value)) return false;
    if (unit === "°C") return value >= smallest && value <= largest;
    return value === 0 || (Math.abs(value) >= smallest && Math.abs(value) <= largest);
  };

  /* `47..56k`, `12.1 to 12.4 V`: what stands behind the second figure belongs to a bare first one too. */
  const tailOf = (text) => {
    const point = text.trim().match(LETTER_POINT);
    if (point) return has(table.prefixes, point[2]) ? point[2] + point[4] : point[4];
    return text.trim().match(PLAIN)?.[2] ?? "";
  };
  const figuresOf = (text) => {
    const point = text.trim().match(LETTER_POINT);
    if (point) return Number(`${point[1] || 0}.${point[3]}`);
    const plain = text.trim().match(PLAIN);
    return plain ? figure(plain[1]) : 0;
  };
  const rangeOf = (first, second, unit) => {
    const high = numberOf(second, unit),
      bare = BARE.test(first.trim());
    let low = numberOf(first + (bare ? tailOf(second) : ""), unit);
    if (high === null || low === null) return null;
    if (bare && !(Math.abs(figuresOf(first)) < Math.abs(figuresOf(second)))) {
      const tail = tailOf(second).trim();
      const named = has(table.units, tail) && table.units[tail][0] === unit && !has(table.prefixes, tail);
      low = figure(first.trim()) * (named ? table.units[tail][1] : 1);
      if (low > high && high < figuresOf(second)) return null;
    }
    const ends = [low, high].sort((a, b) => a - b);
    return ends.every((end) => usual(end, unit)) ? { value: null, low: ends[0], high: ends[1] } : null;
  };
  const quantityOf = (text, unit) => {
    const source = text.trim();
    const ends = source.split(new RegExp(patterns.ends));
    if (ends.length === 2 && ends[0] && ends[1]) return rangeOf(ends[0], ends[1], unit);
    const value = ["ohm", "F", "H"].includes(unit) && LETTERED.test(source) ? null : numberOf(source, unit);
    return value === null || !usual(value, unit) ? null : { value, low: value, high: value };
  };

  /* What the meter and the digits written leave open. */
  const resolution = (value, unit) => {
    if (table.withoutCounts.includes(unit)) return 0;
    const smallest = table.smallest[unit] ?? 0;
    const size = Math.max(Math.abs(value), smallest ? smallest / 10 : 1e-12);
    return Math.max(2 * 10 ** Math.ceil(Math.log10(size / 2) - 1e-12), smallest) / table.counts;
  };
  const lastDigit = (text, unit) => {
    const plain = text.replace(/^[+-]+/, ""),
      last = plain.search(/[0-9][^0-9]*$/);
    const one = quantityOf(`${plain.slice(0, last).replace(/[0-9]/g, "0")}1${plain.slice(last + 1)}`, unit);
    return one === null ? 0 : Math.abs(one.value === null ? (one.low + one.high) / 2 : one.value);
  };
  const interval = (number, unit) => {
    if ("<≤".includes(number[0] || " ")) {
      const limit = unit && number.includes("%") ? null : quantityOf(number.slice(1).replace(/^=/, ""), unit);
      return limit && { value: null, low: Math.min(0, limit.high), high: Math.max(0, limit.high) };
    }
    const stated = unit ? number.match(new RegExp(patterns.tolerance)) : null;
    const body = stated && stated.index ? number.slice(0, stated.index) : number;
    const share = stated && stated.index ? figure(stated[1]) / 100 : 0;
    if ((unit && body.includes("%")) || share >= 1) return null;
    const found = quantityOf(body, unit);
    if (found === null) return null;
    if (found.value === null) {
      const widen = Math.max(meter.share, share),
        [low, high] = [found.low, found.high];
      return { value: null, low: low - Math.abs(low) * widen, high: high + Math.abs(high) * widen };
    }
    let written = lastDigit(body, unit);
    if (found.value === 0 && !/[.,][0-9]/.test(body)) written *= 2 * table.bareZero;
    const size = Math.abs(found.value);
    const reach = Math.max(
      size * share,
      size * meter.share + meter.counts * resolution(found.value, unit) + written / 2,
    );
    return { value: found.value, low: found.value - reach, high: found.value + reach };
  };

  const withoutAbout = (text) => {
    for (const word of table.about) {
      const behind = text.charAt(word.length);
      if (text.toLowerCase().startsWith(word) && (!/[a-z]$/.test(word) || behind === " "))
        return text.slice(word.length).replace(/^ +/, "");
    }
    return text;
  };
  /* `1 megohm` is `1Mohm`, `16 Volts` is `16V`. */
  const inSymbols = (text) =>
    text.replace(
      IN_WORDS,
      (_all, prefix, letter, word) =>
        (table.prefixesWrittenOut[(prefix ?? "").toLowerCase()] ?? "") +
        letter +
        table.writtenOut[word.toLowerCase()],
    );
  const behindAndBefore = (text) => {
    let found = text.match(new RegExp(patterns.rangeBehind));
    if (found) return [found[1], table.ranges[found[2]]];
    found = text.match(new RegExp(patterns.rangeBefore));
    return found ? [text.slice(found[0].length), table.ranges[found[1]]] : [text, ""];
  };

  /* {state: "open" | "short" | "", value, low, high, range}; {why} where it is another thing than asked for; null: no reading. */
  const read = (text, unit, wave = "") => {
    const plain = text
      .replace(new RegExp(patterns.blank, "g"), " ")
      .replace(/^ +| +$/g, "")
      .replace(/−/g, "-")
      .replace(new RegExp(patterns.minus), "-");
    if ([...plain].length > table.longest || /(?![0-9])\p{Nd}/u.test(plain)) return null;
    const bare = withoutAbout(plain.replace(new RegExp(patterns.remark), ""));
    const word = bare.toLowerCase().split(/[ ,;]/)[0];
    if (table.open.includes(word)) {
      if (!table.openIn.includes(unit)) return null;
      const low = unit === "ohm" ? table.openFrom : Infinity;
      return { state: "open", value: Infinity, low, high: Infinity, range: "" };
    }
    if (table.short.includes(word))
      return { state: "short", value: 0, low: 0, high: unit === "ohm" ? table.shortBelow : 0, range: "" };
    const timed = unit === "s" && /^[0-9.,]+ ?[A-Za-z]+$/.test(bare);
    let number = timed ? bare : bare.replace(new RegExp(patterns.behind), ""),
      range = "";
    number = inSymbols(number);
    if (unit === "V" || unit === "A") [number, range] = behindAndBefore(number);
    const factor = table.waves[wave]?.[range] ?? 1;
    if (typeof factor === "string") return { why: table.reasons[factor] };
    const found = interval(number, unit);
    if (found === null) return null;
    const value = found.value === null ? null : found.value * factor;
    return { state: "", value, low: found.low * factor, high: found.high * factor, range };
  };
  return { read };
};
if (typeof module !== "undefined") module.exports = { readingsOf };
