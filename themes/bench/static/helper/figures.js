// @ts-check
/* Figures as the page prints them: three digits and a prefix, a band with one unit, a share. say: the page's words. */
const figuresOf = (say) => {
  const put = (text, values) => text.replace(/\{(\w+)\}/g, (whole, key) => values[key] ?? whole);
  /** @type {[number, string][]} */
  const MARKS = [
    [1e9, "G"],
    [1e6, "M"],
    [1e3, "k"],
    [1, ""],
    [1e-3, "m"],
  ];
  const digits = (value) =>
    (Math.abs(value) >= 999.5
      ? value.toFixed(0)
      : Number(value.toPrecision(3)) === 0
        ? "0"
        : value.toPrecision(3)
    ).replace(".", say.decimal);
  /* What counts as a 0 on the display. */
  const COUNT = { ohm: 0.5, A: 0.00005 };
  const scale = (size, unit) => {
    const own = MARKS.find(([step]) => size >= step * 0.9999) ?? MARKS[4];
    return own[1] === "m" && (size >= 0.1 || unit === "ohm" || !unit) ? MARKS[3] : own;
  };
  const nothing = (value, unit) => Math.abs(value) < (COUNT[unit] ?? 0.005);
  const number = (value, unit, own) => {
    if (!Number.isFinite(value)) return say.open;
    const none = nothing(value, unit),
      [step, mark] = own ?? (none ? MARKS[3] : scale(Math.abs(value), unit)),
      figure = none ? "0" : digits(value / step).replace("-", "−");
    return `${figure}\u00a0${mark}${unit === "ohm" ? "Ω" : unit}`.trim();
  };
  /* Both ends in one unit, unless they lie too far apart for one range of a meter. */
  const band = ({ low, high }, unit) => {
    if (low === null) return say.none;
    const [least, most] = [Math.abs(low), Math.abs(high)],
      near = Number.isFinite(high) && least < most && (nothing(low, unit) || most < 1000 * least),
      [from, to] = [number(low, unit, near ? scale(most, unit) : undefined), number(high, unit)];
    if (from === to) return from;
    const [figure, sign] = from.split("\u00a0");
    return put(say.to, { low: sign && to.endsWith(`\u00a0${sign}`) ? figure : from, high: to });
  };
  const percent = (share) =>
    share >= 0.995 ? "> 99\u00a0%" : share < 0.01 ? "< 1\u00a0%" : `${Math.round(100 * share)}\u00a0%`;
  return { put, band, percent };
};
