// @ts-check
"use strict";
/* What the search says, in the words that the page gives for it: texts, names of values, dates. own: the element with them. */
const findLabels = (own) => {
  const STRINGS = {
    some: "{n} notes match",
    one: "1 note matches",
    none: "No note matches. Try fewer or other words.",
    relaxed: "No note of this kind has these words. All of this kind: {n}",
    unknown: "No notes on that kind of device; its words were searched for.",
    top: "Most likely: {cause}",
    share: "{notes} of {known}",
    likely: "{share} %",
    hardly: "< 1 %",
    likelihoods: "",
    rest: "",
    novel: "",
    unseen: "",
    few: "Too few notes to count causes.",
    unclear: "No clear cause",
    check: "No clear cause. What tells the likely ones apart: {check}",
    failed: "The search files cannot be read.",
    separator: ". ",
    list: "; ",
    cause: "Cause",
    kind: "Device",
    outcome: "Outcome",
    part: "Part",
    block: "Circuit",
    bench: "Bench",
    source: "From",
    names: { outcome: {}, block: {} },
  };
  try {
    Object.assign(STRINGS, JSON.parse(own.textContent));
  } catch {
    /* the page has none of its own */
  }
  const say = (name, values = {}) =>
    STRINGS[name].replace(/\{(\w+)\}/g, (whole, key) => values[key] ?? whole);
  const named = (sort, value) => STRINGS.names[sort]?.[value] ?? value;
  const dates = (() => {
    const lang = document.documentElement.lang || "en"; // made once: a formatter costs more than a search
    try {
      return new Intl.DateTimeFormat(lang === "en" ? "en-001" : lang, { dateStyle: "long", timeZone: "UTC" });
    } catch {
      return null;
    }
  })();
  const day = (date) => {
    try {
      return dates.format(new Date(`${date}T00:00:00Z`));
    } catch {
      return date;
    }
  };
  return { say, named, day };
};
