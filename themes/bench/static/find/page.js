// @ts-check
/* The search on a page: words in, notes and causes out, as one types. find-score.js must be loaded before it.
 *
 * Markup (all texts and classes are the page's own; this script only fills in text, never markup):
 *
 *   <form role="search" data-find            the whole; any element that is a form
 *         data-find-index="find/"            folder of the index, from this page
 *         data-find-note="notes/{slug}.html" address of a note, from this page
 *         data-find-stamp="…"                optional: Index.stamp(), so that an old copy is not used
 *         action="symptoms.html">            where Enter leads without scripts
 *     <input data-find-words type="search" name="q">
 *     <input data-find-kind name="kind" list="kinds"> <datalist id="kinds">…
 *     <button data-find-clear type="button">  optional
 *   </form>
 *   <script type="application/json" data-find-strings>{…}</script>   see STRINGS; {n} and the like are put in
 *   <p data-find-status aria-live="polite"></p>
 *   <div data-find-filters></div>            gets for each filter: <fieldset><legend/><ul><li><button/>…
 *   <div data-find-causes></div>             gets for each cause a copy of the template, and one for all others together
 *   <ol data-find-results></ol>              gets for each note a copy of the template
 *   <template data-find-cause-template>      with any of [data-put=cause|notes|share|likely|found_by] and <meter data-put=bar>;
 *                                            a <button data-put=filter> turns the cause into a filter
 *   <template data-find-result-template>     with any of [data-put=title|symptoms|cause|kind|outcome|date|found_by
 *                                            |why|source];
 *                                            an <a data-put-link> gets the address, an <img data-put-drawing> what
 *                                            data-find-drawing of the form makes of the note
 *   <details data-find-narrow>               around the filters: not shown where there are none
 *   An element whose value is empty is hidden, and so is the nearest [data-put-row] around it.
 *
 * The element with data-find has data-find-state: idle (nothing asked), busy, done or failed; and data-find-none where nothing was found; style by them.
 * <html> has data-find-scripts once this runs. Address: ?q=…&kind=…&cause=… and the other filters.
 * Keys: / goes to the words, arrow down and up go through the results, Home and End to the first and last, Enter opens
 * one, Escape goes back to the words; Tab reaches causes and filters.
 */
"use strict";
(() => {
  const form = document.querySelector("form[data-find]");
  if (!form || !window.BenchloreFind) return;
  const part = (name) => document.querySelector(`[data-find-${name}]`);
  const { say, named, day } = findLabels(part("strings"));
  const index = window.BenchloreFind.open(form.dataset.findIndex || "find/", form.dataset.findStamp);
  const words = part("words"),
    kind = part("kind");
  const places = {
    status: part("status"),
    filters: part("filters"),
    causes: part("causes"),
    results: part("results"),
  };
  const { FILTERS } = window.BenchloreFind;
  const GROUPS = FILTERS.slice(1); // causes have a list of their own
  const SHOWN = 10,
    VALUES = 8,
    SOURCES = 100; // one's own café can always be chosen
  let filters = {},
    turn = 0,
    settled = true,
    announced = 0;
  document.documentElement.dataset.findScripts = "";

  /* Fill a copy of a template: text into [data-put=name], nothing else. */
  const copy = (name, values, act) => {
    const node = part(`${name}-template`).content.cloneNode(true);
    for (const slot of node.querySelectorAll("[data-put]")) {
      const key = slot.dataset.put,
        value = values[key] ?? "";
      if (key === "bar") slot.value = value;
      else if (key === "filter") {
        slot.setAttribute("aria-pressed", String(values.pressed));
        slot.addEventListener("click", act);
        if (!slot.childElementCount) slot.textContent = value;
      } else {
        slot.textContent = value;
        if (value === "") (slot.closest("[data-put-row]") || slot).hidden = true;
      }
    }
    if (values.sort) node.firstElementChild.dataset.outcome = values.sort;
    // A row of a collection has no page and no drawing of its own, but a place in a list.
    const row = values.address?.includes("#"),
      slug = values.slug?.split("/").map(encodeURIComponent).join("/"),
      drawing = form.dataset.findDrawing;
    for (const image of node.querySelectorAll("[data-put-drawing]")) {
      if (row || !drawing) {
        image.closest(".drawn")?.classList.remove("drawn");
        image.remove();
      } else image.src = drawing.replace("{slug}", slug);
    }
    // "./" keeps what stands at an address of its own below the page, whatever that says.
    const note = (form.dataset.findNote || "{slug}").replace("{slug}", slug);
    for (const link of node.querySelectorAll("[data-put-link]"))
      link.href = values.address ? `./${values.address}` : note;
    return node;
  };

  const toggle = (name, value) => {
    filters = { ...filters, [name]: filters[name] === value ? "" : value };
    settled = true;
    run();
  };

  /* A filter that all have tells nothing; beside the chosen one stand the others, to change over to. */
  const telling = (facets, name, total) => (facets[name] || []).filter(([, n]) => filters[name] || n < total);
  const filterGroups = (facets, total) =>
    GROUPS.filter((name) => filters[name] || telling(facets, name, total).length).map((name) => {
      const group = document.createElement("fieldset"),
        legend = document.createElement("legend"),
        list = document.createElement("ul");
      legend.textContent = say(name);
      const every = telling(facets, name, total),
        chosen = ([value]) => value === filters[name];
      const values = every.slice(0, name === "source" ? SOURCES : VALUES);
      if (filters[name] && !values.some(chosen)) values.push(every.find(chosen) || [filters[name], 0]);
      for (const [value, n] of values) {
        const item = document.createElement("li"),
          button = document.createElement("button"),
          count = document.createElement("span");
        button.type = "button";
        button.setAttribute("aria-pressed", String(filters[name] === value));
        button.dataset.findValue = `${name}:${value}`;
        count.textContent = n;
        button.append(`${named(name, value)} `, count);
        button.addEventListener("click", () => toggle(name, value));
        item.append(button);
        list.append(item);
      }
      group.append(legend, list);
      return group;
    });

  const percent = (share) =>
    share < 0.01 ? say("hardly") : say("likely", { share: Math.round(100 * share) });
  /* A row for each cause, likeliest first, and one for what is none of them: without it a bar would have nothing to be read by. */
  const causeRows = (found) => {
    const rows = found.causes.map((count) =>
      copy(
        "cause",
        {
          cause: count.cause,
          notes: count.notes,
          share: say("share", { notes: count.notes, known: found.known }),
          likely: percent(count.share),
          bar: count.share,
          found_by: count.foundBy,
          filter: count.cause,
          pressed: filters.cause === count.cause,
        },
        () => toggle("cause", count.cause),
      ),
    );
    const rest = 1 - found.causes.reduce((sum, { share }) => sum + share, 0);
    if (!rows.length || !say("likelihoods")) return rows;
    const head = document.createElement("p");
    head.className = "caption";
    const novel = found.other >= index.constants.novel;
    head.textContent = [say("likelihoods"), ...(novel ? [say("novel")] : [])].join(say("separator"));
    if (rest > 0.02) {
      const name = say(novel ? "unseen" : "rest");
      const other = copy(
        "cause",
        { cause: name, share: "", likely: percent(rest), bar: rest, found_by: "", filter: "" },
        null,
      );
      other.querySelector("button")?.replaceWith(name);
      rows.push(other);
    }
    return [head, ...rows];
  };

  const show = (found) => {
    const focused = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.findValue;
    places.results?.replaceChildren(
      ...found.results.map((hit) =>
        copy("result", {
          slug: hit.slug,
          address: hit.address,
          source: hit.source,
          title: hit.title || hit.symptoms[0] || hit.kind,
          date: day(hit.date),
          kind: hit.kind,
          outcome: named("outcome", hit.outcome),
          sort: hit.outcome,
          found_by: hit.foundBy,
          symptoms: hit.title ? hit.symptoms.join(say("list")) : "",
          cause: hit.causes.join(say("list")),
          why: hit.why.join(say("list")),
        }),
      ),
    );
    places.causes?.replaceChildren(...causeRows(found));
    const groups = filterGroups(found.facets, found.total),
      narrow = part("narrow");
    places.filters?.replaceChildren(...groups);
    if (narrow) {
      narrow.hidden = !groups.length;
      narrow.open ||= Object.values(filters).some(Boolean);
    }
    if (focused) places.filters?.querySelector(`[data-find-value="${CSS.escape(focused)}"]`)?.focus();
  };

  const tell = (found) => {
    const n = found.total,
      lines = [];
    if (kind?.value.trim() && !found.kinds.length) lines.push(say("unknown"));
    lines.push(
      found.relaxed ? say("relaxed", { n }) : say(n === 0 ? "none" : n === 1 ? "one" : "some", { n }),
    );
    const [first] = found.causes;
    if (first && found.clear) lines.push(say("top", { cause: first.cause }));
    else if (first) lines.push(found.check ? say("check", { check: found.check }) : say("unclear"));
    else if (n) lines.push(say("few"));
    // A screen reader is told once the typing pauses, not at each key.
    clearTimeout(announced);
    announced = setTimeout(() => {
      if (places.status) places.status.textContent = lines.join(say("separator"));
    }, 250);
  };

  const state = (name) => {
    form.dataset.findState = name;
  };

  const address = () => {
    const url = new URL(location.href),
      query = new URLSearchParams();
    const all = {
      q: words.value,
      kind: kind?.value || "",
      ...Object.fromEntries(
        Object.entries(filters).map(([name, value]) => [name === "kind" ? "of" : name, value]),
      ),
    };
    for (const [name, value] of Object.entries(all)) if (value) query.set(name, value.slice(0, 300));
    url.search = query.toString();
    if (url.href === location.href) return;
    try {
      history[settled ? "pushState" : "replaceState"](null, "", url);
    } catch {
      /* an address that this browser does not let us change */
    }
    settled = false;
  };

  const run = async (fromAddress = false) => {
    const mine = ++turn;
    if (!fromAddress) address();
    if (!words.value.trim() && !kind?.value.trim() && !Object.values(filters).some(Boolean)) {
      clearTimeout(announced);
      for (const place of Object.values(places)) place?.replaceChildren();
      form.toggleAttribute("data-find-none", false);
      state("idle");
      return;
    }
    state("busy");
    try {
      const found = await index.search(words.value, kind?.value.trim() || "", filters, SHOWN);
      if (mine !== turn) return;
      show(found);
      tell(found);
      form.toggleAttribute("data-find-none", !found.total);
      state("done");
    } catch {
      if (mine !== turn) return;
      if (places.status) places.status.textContent = say("failed");
      state("failed");
    }
  };

  const fromAddress = () => {
    const query = new URLSearchParams(location.search);
    words.value = query.get("q") || "";
    if (kind) kind.value = query.get("kind") || "";
    filters = Object.fromEntries(
      FILTERS.map((name) => [name, query.get(name === "kind" ? "of" : name) || ""]),
    );
    settled = true;
    run(true);
  };

  const typed = () => {
    filters = {};
    run();
  };
  words.addEventListener("input", typed);
  kind?.addEventListener("input", typed);
  words.addEventListener("focus", () => index.open().catch(() => {}), { once: true });
  for (const input of [words, kind])
    input?.addEventListener("change", () => {
      settled = true;
    });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    settled = true;
    run();
  });
  part("clear")?.addEventListener("click", () => {
    words.value = "";
    if (kind) kind.value = "";
    settled = true;
    typed();
    words.focus();
  });
  window.addEventListener("popstate", fromAddress);
  document.addEventListener("keydown", (event) => {
    const links = [...(places.results?.querySelectorAll("a[data-put-link]") || [])],
      at = links.indexOf(document.activeElement);
    if (event.altKey || event.ctrlKey || event.metaKey) return;
    const writing = document.activeElement?.matches("input, textarea, select, [contenteditable]");
    if (event.key === "/" && !writing) {
      words.focus();
      words.select();
      event.preventDefault();
      return;
    }
    if (at < 0 && document.activeElement !== words) return;
    if (event.key === "ArrowDown" && links[at + 1]) links[at + 1].focus();
    else if (event.key === "ArrowUp" && at >= 0) (links[at - 1] || words).focus();
    else if (event.key === "Home" && at >= 0) links[0].focus();
    else if (event.key === "End" && at >= 0) links.at(-1).focus();
    else if (event.key === "Escape" && at >= 0) words.focus();
    else return;
    event.preventDefault();
  });
  fromAddress();
})();
