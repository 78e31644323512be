// @ts-check
/* The reading helper: type what the meter shows, and see how likely each failure is and where to measure next.
 *
 * No physics here: the page carries a table (generator/diagnosis/helper.py), which failures.js unpacks; likelihoods.js weighs readings
 * by it as the build does, proposals.js chooses the next, readings.js reads them as notes are read, figures.js prints.
 *
 * Markup: <section data-helper> with <script type="application/json" data-helper-data>, <… data-helper-strings> anywhere, and a
 * <div data-helper-form>. The readings stand in the address behind #read= so that a link carries them.
 */
"use strict";
(() => {
  const section = document.querySelector("[data-helper]");
  if (!section) return;
  const data = JSON.parse(document.querySelector("[data-helper-data]").textContent);
  const say = JSON.parse(section.querySelector("[data-helper-strings]").textContent);
  const { places } = data,
    readings = readingsOf(data.reading, data.meter),
    table = failuresOf(data),
    rank = likelihoodsOf(table),
    proposals = proposalsOf(table);
  const form = section.querySelector("[data-helper-form]");
  const SHOWN = 8,
    LEAST = 0.005,
    NEXT = 4,
    TIED = 0.7;

  const make = (tag, attributes = {}, ...children) => {
    const node = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
    node.append(...children);
    return node;
  };
  const { put, band, percent } = figuresOf(say);

  /* Places by how they are measured; the state beside each. */
  const at = ({ at: own, called: names = own }) =>
    names.length > 1 ? put(say.between, { one: names[0], other: names[1] }) : names[0];
  const state = (place) => say.states[place.when] ?? place.when;
  const means = (place) =>
    place.how === "ohms"
      ? say.ohms
      : place.how === "diode"
        ? say.diode
        : put(place.how === "amps" ? say.amps : say.volts, { state: state(place) });
  const name = (place) => {
    const spot = place.kind === "across" ? put(say.across, { part: at(place) }) : at(place),
      own = place.ac && place.how === "volts" ? `${spot}, AC` : spot;
    return place.how === "volts" || place.how === "amps"
      ? say.one
        ? own
        : `${own}, ${state(place)}`
      : `${own}, ${place.how === "ohms" ? say.cold : say.junction}`;
  };
  const key = (place) => `${place.kind} ${place.at.join(" - ")} ${place.when ?? ""}`.trim();
  const failureName = (failure) => {
    if (!failure) return say.sound;
    const { mode, part, failed, also } = failure,
      own = mode === "bridge" ? put(say.bridge, { nets: part }) : `${part} ${failed}`;
    return also ? put(say.both, { first: own, last: failureName(also) }) : own;
  };

  const rows = make("div", { class: "helper-rows" });
  const status = make("p", { class: "helper-status", role: "status", "aria-live": "polite" });
  const next = make("div", { class: "next-reading" });
  const listed = make("table", { class: "failures helper-left" });
  const scroll = make(
    "div",
    { class: "scroll", tabindex: "0", role: "group", "aria-label": say.failure },
    listed,
  );
  const link = make("a", { class: "helper-link", href: "#" }, say.link);
  const add = make("button", { type: "button" }, say.add);
  let count = 0;
  const row = (chosen, text) => {
    const n = (count += 1);
    const select = make("select", { id: `helper-at-${n}` }),
      groups = new Map();
    places.forEach((place, i) => {
      const label = means(place);
      if (!groups.has(label)) {
        groups.set(label, make("optgroup", { label }));
        select.append(groups.get(label));
      }
      groups.get(label).append(make("option", { value: i }, name(place)));
    });
    select.value = String(chosen);
    const input = make("input", {
      id: `helper-read-${n}`,
      type: "text",
      autocomplete: "off",
      placeholder: say.example,
    });
    input.value = text;
    const remove = make("button", { type: "button", "aria-label": say.remove }, "×");
    const line = make(
      "div",
      { class: "helper-row" },
      make("p", { class: "field" }, make("label", { for: select.id }, say.at), select),
      make("p", { class: "field" }, make("label", { for: input.id }, say.read), input),
      remove,
      make("p", { class: "helper-note" }),
    );
    remove.addEventListener("click", () => {
      line.remove();
      if (!rows.children.length) row(first(), "");
      update();
    });
    select.addEventListener("change", update);
    input.addEventListener("input", update);
    rows.append(line);
    return input;
  };
  const first = (used = []) => proposals.next(used, rank(used))[0]?.place ?? 0;
  const typed = () =>
    [...rows.children].map((line) => {
      const place = Number(line.querySelector("select").value),
        text = line.querySelector("input").value;
      return {
        line,
        place,
        text,
        read: text.trim() ? readings.read(text, places[place].unit, places[place].wave ?? "") : undefined,
      };
    });
  const usedOf = (entries) =>
    entries
      .filter(({ read }) => read && !read.why)
      .map(({ place, text, read }) => ({ ...table.taken(place, read), text }));
  const hazard = (place) => (place.hazard === "mains" ? say.mains : "");

  const update = () => {
    const entries = typed();
    for (const button of rows.querySelectorAll("button")) button.hidden = entries.length < 2;
    for (const { line, place, text, read } of entries) {
      const about = places[place],
        { low, high } = proposals.bandOf(proposals.health, place),
        words = [put(say.should, { band: band({ low, high }, about.unit) }), hazard(about)];
      if (about.ripple)
        words.splice(
          1,
          0,
          put(say.rms, { band: band({ low: low / table.rms, high: high / table.rms }, about.unit) }),
        );
      if (text.trim() && (!read || read.why)) words.push(read?.why ?? say.unreadable);
      line.querySelector(".helper-note").textContent = words.filter(Boolean).join(". ");
      line.querySelector("input").setAttribute("aria-invalid", String(read === null || Boolean(read?.why)));
    }
    const used = usedOf(entries);
    show(used);
    const carried = used
      .map(
        ({ place, text }) => `${encodeURIComponent(key(places[place]))}:${encodeURIComponent(text.trim())}`,
      )
      .join("&");
    const address = carried ? `#read=${carried}` : "#differently";
    link.href = address;
    link.hidden = !carried;
    if (carried || location.hash.startsWith("#read=")) history.replaceState(null, "", address);
  };

  /* The two likeliest where neither is ahead of the other, and whether a reading would tell them apart. */
  const tie = (ranked) =>
    ranked[0].failure &&
    ranked[1]?.failure &&
    ranked[1].share > TIED * ranked[0].share &&
    ranked[0].failure.part !== ranked[1].failure.part &&
    ranked.beyond <= 0.5
      ? ranked.slice(0, 2)
      : null;
  const splits = ({ expected }, pair) => {
    const [one, other] = pair.map(({ failure }) => expected.find((own) => own.failure === failure));
    const known = one && other && one.low !== null && other.low !== null;
    return Boolean(known && (one.low > other.high || other.low > one.high));
  };

  const show = (used) => {
    scroll.hidden = !used.length;
    next.textContent = "";
    const ranked = rank(used),
      further = proposals.next(used, ranked);
    if (!used.length) {
      status.textContent = "";
      propose(further[0], say.start);
      return;
    }
    const top = ranked[0],
      doubted = used.filter((_one, i) => top.wrong[i] >= 0.5);
    status.textContent =
      ranked.beyond > 0.5
        ? say.nothing
        : top.failure
          ? put(say.likeliest, { failure: failureName(top.failure), share: percent(top.share) })
          : put(say.soundest, { share: percent(top.share) });
    if (doubted.length && ranked.beyond <= 0.5)
      status.append(
        " ",
        put(say.doubted, {
          reading: doubted.map(({ place, text }) => `${name(places[place])} ${text.trim()}`).join(", "),
        }),
      );
    const tied = tie(ranked);
    if (tied)
      status.append(
        " ",
        put(say.tied, { one: failureName(tied[0].failure), other: failureName(tied[1].failure) }),
      );
    const left = ranked.filter(({ share }, i) => i < SHOWN && share >= LEAST);
    const head = make(
      "tr",
      {},
      make("th", { scope: "col" }, say.failure),
      make("th", { scope: "col" }, say.share),
      ...used.map(({ place }) => make("th", { scope: "col" }, name(places[place]))),
    );
    const body = left.map(({ failure, share, row: own }) => {
      const label = make("th", { scope: "row" });
      if (failure && failure.mode !== "bridge" && !failure.also)
        label.append(
          make("span", { class: "ref", "data-ref": failure.part }, failure.part),
          ` ${failure.failed}`,
        );
      else label.append(failureName(failure));
      if (failure?.found) label.append(make("span", { class: "what" }, say.found));
      return make(
        "tr",
        {},
        label,
        make("td", { class: "figure" }, percent(share)),
        ...used.map(({ place }) =>
          make("td", { class: "figure" }, band(proposals.bandOf([own], place), places[place].unit)),
        ),
      );
    });
    listed.replaceChildren(make("thead", {}, head), make("tbody", {}, ...body));
    const splitting = tied && further.find((own) => splits(own, tied));
    if (splitting) propose(splitting, say.splits);
    else if (further.length) propose(further[0], say.next);
    else if (left.length > 1) next.append(make("p", {}, say.alike));
  };
  const propose = (own, text) => {
    if (!own) return;
    const place = places[own.place];
    const line = make("p", {}, put(text, { place: name(place) }));
    if (hazard(place)) line.append(" ", make("strong", {}, hazard(place)));
    const list = make("ul", { class: "helper-would" });
    const would = new Map(); // by two digits: no meter tells more apart
    for (const { failure, low, high } of own.expected) {
      const near = [low, high].map((end) => end?.toPrecision(2)).join();
      if (!would.has(near)) would.set(near, { shown: band({ low, high }, place.unit), names: [] });
      would.get(near).names.push(failureName(failure));
    }
    for (const { shown, names } of [...would.values()].slice(0, NEXT)) {
      const named = names.slice(0, NEXT).join(", ");
      list.append(
        make(
          "li",
          {},
          put(say.would, {
            failure: names.length > NEXT ? put(say.more, { names: named, n: names.length - NEXT }) : named,
            band: shown,
          }),
        ),
      );
    }
    const take = make("button", { type: "button" }, say.take);
    take.addEventListener("click", () => {
      const empty = typed().find(({ text: written }) => !written.trim());
      if (empty) empty.line.querySelector("select").value = String(own.place);
      (empty ? empty.line.querySelector("input") : row(own.place, "")).focus();
      update();
    });
    next.append(line, list, take);
  };

  const restore = () => {
    rows.replaceChildren();
    const carried = location.hash.startsWith("#read=") ? location.hash.slice(6).split("&") : [];
    for (const part of carried) {
      const [where, text] = part.split(":").map((piece) => {
        try {
          return decodeURIComponent(piece);
        } catch {
          return "";
        }
      });
      const place = places.findIndex(
        (own) => key(own) === where || (own.kind === "at" && own.at[0] === where),
      );
      if (place >= 0) row(place, text ?? "");
    }
    if (!rows.children.length) row(first(), "");
    else section.scrollIntoView();
    update();
  };
  add.addEventListener("click", () => {
    row(first(usedOf(typed())), "").focus();
    update();
  });
  window.addEventListener("hashchange", () => {
    if (location.hash.startsWith("#read=")) restore();
  });
  form.append(rows, make("p", { class: "helper-actions" }, add, " ", link), status, scroll, next);
  restore();
})();
