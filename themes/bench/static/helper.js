/* The reading helper: type what the meter shows, and the failures that could show it are left.
 *
 * No physics here. The page carries, for each place to measure, the band of the sound circuit, and for each failure
 * the bands that differ from it (see generator/diagnosis/helper.py):
 *   {"spots": [{block, value, called, unit, band, at, slack, wave?, hazard?, cold?}], "failures": [{block, part, failed, remark?, bands: {spot: band}}],
 *    "least": {unit: the smallest gap that a meter shows}, "meter": {share, counts}, "reading": what readings.js reads by}
 * A band is [low, high], "open" or null (no value).
 *
 * Markup: <section data-helper> with <script type="application/json" data-helper-data>, <… data-helper-strings> and a
 * <div data-helper-form>. The readings stand in the address behind #read= so that a link carries them.
 */
"use strict";
(() => {
  const section = document.querySelector("[data-helper]");
  if (!section) return;
  const { spots, failures, least: LEAST, meter, reading } = JSON.parse(section.querySelector("[data-helper-data]").textContent);
  const readings = readingsOf(reading, meter);
  const say = JSON.parse(section.querySelector("[data-helper-strings]").textContent);
  const place = section.querySelector("[data-helper-form]");
  const health = { block: "", part: "", failed: say.sound, bands: {} };
  const all = [health, ...failures];

  const make = (tag, attributes = {}, ...children) => {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
    node.append(...children);
    return node;
  };
  const put = (text, values) => text.replace(/\{(\w+)\}/g, (whole, key) => values[key] ?? whole);

  const MARKS = [[1e9, "G"], [1e6, "M"], [1e3, "k"], [1, ""], [1e-3, "m"], [1e-6, "µ"], [1e-9, "n"], [1e-12, "p"]];
  const SCALED = new Set(["V", "A", "ohm", "F", "W", "Hz", "s", "V/K"]);
  const number = (value, unit) => {
    const shown = { ohm: "Ω", degree: "°" }[unit] ?? unit;
    if (value >= 1e29 || (unit === "ohm" && value >= 1e15)) return say.open;
    let [step, mark] = [1, ""];
    if (SCALED.has(unit) && value) [step, mark] = MARKS.find(([size]) => Math.abs(value) >= size * 0.9999) ?? MARKS[MARKS.length - 1];
    if ((unit === "V" || unit === "ohm") && mark === "m" && Math.abs(value) >= 0.1) [step, mark] = [1, ""];
    if (unit === "s" && value >= 120) return value >= 7200 ? `${digits(value / 3600)}\u00a0h` : `${digits(value / 60)}\u00a0min`;
    return `${digits(value / step)}${mark || shown ? "\u00a0" : ""}${mark}${shown}`.replace("-", "−");
  };
  const digits = (value) => (Math.abs(value) >= 999.5 ? value.toFixed(0) : Number(value.toPrecision(3)) === 0 ? "0" : value.toPrecision(3)).replace(".", say.decimal);
  const band = (pair, unit) => {
    if (pair === null) return say.none;
    if (pair === "open") return unit === "s" ? say.never : say.open;
    const [low, high] = [number(pair[0], unit), number(pair[1], unit)];
    if (low === high) return low;
    const [figure, sign] = low.split("\u00a0");
    return put(say.to, { low: sign && high.endsWith(`\u00a0${sign}`) ? figure : low, high });
  };

  /* Which failures could show a reading. */
  const bandOf = (failure, spot) => (String(spot) in failure.bands ? failure.bands[spot] : spots[spot].band);
  const fits = (entry, failure) => readings.agrees(entry.read, bandOf(failure, entry.spot), spots[entry.spot].slack);
  const apart = (a, b, scale, least) => {
    if (a === null || b === null || a === "open" || b === "open") return a !== b && JSON.stringify(a) !== JSON.stringify(b);
    const gap = Math.max(a[0] - b[1], b[0] - a[1]);
    return gap > Math.max(0.02 * Math.max(Math.abs(a[1]), Math.abs(b[1]), 0.1 * scale), least);
  };
  const ease = (spot) => (spot.hazard === "mains" ? 0.6 : spot.cold ? 1 : 0.85);
  const best = (left, taken) => {
    let found = null;
    spots.forEach((spot, n) => {
      if (taken.has(n)) return;
      const scale = Array.isArray(spot.band) ? Math.abs(spot.band[1]) : 0;
      let pairs = 0, split = 0;
      for (let i = 0; i < left.length; i += 1) for (let j = 0; j < i; j += 1) {
        pairs += 1;
        if (apart(bandOf(left[i], n), bandOf(left[j], n), scale, LEAST[spot.unit] ?? 0)) split += 1;
      }
      const gain = pairs ? (split / pairs) * ease(spot) : 0;
      if (gain > 0.02 && (!found || gain > found.gain + 1e-9)) found = { n, gain };
    });
    return found;
  };

  /* The form. */
  const several = new Set(spots.map((spot) => spot.block)).size > 1;
  const name = (spot) => (several ? `${spot.block}: ${spot.called}` : spot.called);
  const rows = make("div", { class: "helper-rows" });
  const status = make("p", { class: "helper-status", role: "status", "aria-live": "polite" });
  const next = make("p", { class: "next-reading" });
  const table = make("table", { class: "failures helper-left" });
  const link = make("a", { class: "helper-link", href: "#" }, say.link);
  const add = make("button", { type: "button" }, say.add);
  let count = 0;
  const row = (chosen, text) => {
    const n = (count += 1);
    const select = make("select", { id: `helper-at-${n}` });
    let group = null;
    spots.forEach((spot, i) => {
      if (!group || group.label !== spot.block) select.append((group = make("optgroup", { label: spot.block })));
      group.append(make("option", { value: i }, name(spot)));
    });
    select.value = String(chosen);
    const input = make("input", { id: `helper-read-${n}`, type: "text", autocomplete: "off", inputmode: "text", placeholder: say.example });
    input.value = text;
    const note = make("p", { class: "helper-note" });
    const remove = make("button", { type: "button", "aria-label": say.remove }, "×");
    const line = make("div", { class: "helper-row" },
      make("p", { class: "field" }, make("label", { for: select.id }, say.at), select),
      make("p", { class: "field" }, make("label", { for: input.id }, say.read), input), remove, note);
    remove.addEventListener("click", () => { line.remove(); if (!rows.children.length) row(first(), ""); update(); });
    select.addEventListener("change", update);
    input.addEventListener("input", update);
    rows.append(line);
    return input;
  };
  const first = () => (best(all, new Set()) ?? { n: 0 }).n;
  const typed = () => [...rows.children].map((line) => {
    const spot = Number(line.querySelector("select").value), text = line.querySelector("input").value;
    return { line, spot, text, read: text.trim() ? readings.read(text, spots[spot].unit, spots[spot].wave) : undefined };
  });

  const update = () => {
    const entries = typed();
    for (const { line, spot, text, read } of entries) {
      const about = spots[spot];
      const words = [about.at, put(say.should, { band: band(about.band, about.unit) })];
      if (about.hazard) words.push(about.hazard === "mains" ? say.mains : say.charged);
      if (text.trim() && (!read || read.why)) words.push(read?.why ?? say.unreadable);
      line.querySelector(".helper-note").textContent = words.filter(Boolean).join(". ");
      line.querySelector("input").setAttribute("aria-invalid", String(read === null || Boolean(read?.why)));
    }
    const used = entries.filter((entry) => entry.read && !entry.read.why);
    const left = all.filter((failure) => used.every((entry) => fits(entry, failure)));
    show(used, left);
    const carried = used.map(({ spot, text }) => `${encodeURIComponent(`${spots[spot].block}.${spots[spot].value}`)}:${encodeURIComponent(text.trim())}`).join("&");
    const address = carried ? `#read=${carried}` : "#differently";
    link.href = address;
    link.hidden = !carried;
    if (carried || location.hash.startsWith("#read=")) history.replaceState(null, "", address);
  };

  const show = (used, left) => {
    table.hidden = !used.length;
    next.textContent = "";
    if (!used.length) { status.textContent = ""; return; }
    const faults = left.filter((failure) => failure !== health);
    status.textContent = !left.length ? say.nothing : put(left.includes(health) ? say.leftSound : say.left, { n: faults.length, of: failures.length });
    const head = make("tr", {}, make("th", { scope: "col" }, say.failure), ...used.map(({ spot }) => make("th", { scope: "col" }, name(spots[spot]))));
    const body = left.map((failure) => {
      const label = make("th", { scope: "row" });
      if (failure.part) label.append(make("span", { class: "ref", "data-ref": failure.part }, failure.part), ` ${failure.failed}`);
      else label.append(failure.failed);
      if (failure.remark) label.append(make("span", { class: "what" }, failure.remark));
      return make("tr", {}, label, ...used.map(({ spot }) => make("td", { class: "figure" }, band(bandOf(failure, spot), spots[spot].unit))));
    });
    table.replaceChildren(make("thead", {}, head), make("tbody", {}, ...body));
    const further = best(left, new Set(used.map(({ spot }) => spot)));
    if (!further) { if (faults.length > 1) next.textContent = say.alike; return; }
    const spot = spots[further.n];
    next.textContent = put(say.next, { spot: name(spot), at: spot.at ? ` (${spot.at})` : "" });
    if (spot.hazard) next.append(" ", make("strong", {}, spot.hazard === "mains" ? say.mains : say.charged));
    const take = make("button", { type: "button" }, say.take);
    take.addEventListener("click", () => { row(further.n, "").focus(); update(); });
    next.append(" ", take);
  };

  const restore = () => {
    rows.replaceChildren();
    const carried = location.hash.startsWith("#read=") ? location.hash.slice(6).split("&") : [];
    for (const part of carried) {
      const [at, text] = part.split(":").map((piece) => { try { return decodeURIComponent(piece); } catch { return ""; } });
      const spot = spots.findIndex(({ block, value }) => `${block}.${value}` === at);
      if (spot >= 0) row(spot, text ?? "");
    }
    if (!rows.children.length) row(first(), "");
    else section.scrollIntoView();
    update();
  };
  add.addEventListener("click", () => {
    const taken = new Set(typed().map(({ spot }) => spot));
    row((best(all, taken) ?? { n: 0 }).n, "").focus();
    update();
  });
  window.addEventListener("hashchange", () => { if (location.hash.startsWith("#read=")) restore(); });
  place.append(rows, make("p", { class: "helper-actions" }, add, " ", link), status, make("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": say.failure }, table), next);
  restore();
})();
