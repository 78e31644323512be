// @ts-check
/* Designators: touch C3 anywhere on a job and C3 is marked everywhere, with a way from place to place in the bar.
 *
 * Every element with data-ref takes part: in prose, tables, drawings and on board photos. In drawings the letters can be
 * touched but not reached by Tab, since a drawing is one picture to a screen reader; the tables beside it have the same parts.
 * Elements that come later (the reading helper's) take part too, since one listener hears for all.
 */
"use strict";
(() => {
  const main = document.querySelector("main"),
    bar = document.querySelector("[data-bar]");
  if (!main || !bar) return;
  const marked = bar.querySelector("[data-marked]"),
    said = bar.querySelector("[data-marked-at]");
  const ways = bar.querySelector("details");
  let part = "",
    at = -1;

  const all = (name) =>
    [...main.querySelectorAll("[data-ref]")].filter(
      (ref) => ref.dataset.ref === name && ref.getClientRects().length,
    );
  const drawn = (ref) => ref.closest("svg.sheet") !== null;

  /* Designators are one stop of the Tab key: from there the arrow keys lead from one to the next. */
  const reachable = () =>
    [...main.querySelectorAll("[data-ref][role=button]")].filter((ref) =>
      ref.checkVisibility({ visibilityProperty: true }),
    );
  const prepare = (root) => {
    for (const ref of root.querySelectorAll("[data-ref]")) {
      if (part && ref.dataset.ref === part) ref.classList.add("on");
      if (drawn(ref)) {
        ref.classList.add("touch");
        continue;
      }
      if (ref.hasAttribute("role")) continue;
      ref.setAttribute("role", "button");
      ref.setAttribute("aria-pressed", String(ref.dataset.ref === part));
      ref.setAttribute("tabindex", "-1");
    }
    if (!main.querySelector("[data-ref][tabindex='0']")) reachable()[0]?.setAttribute("tabindex", "0");
    for (const place of main.querySelectorAll("[data-pan]")) {
      // what is wider than its place can be moved by keys, and then has a name
      const moves = place.scrollWidth > place.clientWidth + 1;
      const name =
        place.querySelector("svg")?.getAttribute("aria-label") ?? place.querySelector("title")?.textContent;
      const needed = { tabindex: "0", role: "group", "aria-label": name ?? "" };
      for (const [key, value] of Object.entries(needed))
        if (moves) place.setAttribute(key, value);
        else place.removeAttribute(key);
    }
  };
  const rove = (from, step) => {
    const all = reachable(),
      to = all[(all.indexOf(from) + step + all.length) % all.length];
    if (!to) return;
    main.querySelectorAll("[data-ref][tabindex='0']").forEach((ref) => ref.setAttribute("tabindex", "-1"));
    to.setAttribute("tabindex", "0");
    to.focus();
  };

  const tell = (places) => {
    marked.hidden = !part;
    said.textContent = part
      ? bar.dataset.say
          .replace("{part}", part)
          .replace("{n}", String(at + 1))
          .replace("{all}", String(places.length))
      : "";
  };

  const mark = (name, from) => {
    for (const ref of main.querySelectorAll(".on, .here")) ref.classList.remove("on", "here");
    for (const ref of main.querySelectorAll("[data-ref][aria-pressed=true]"))
      ref.setAttribute("aria-pressed", "false");
    part = name;
    const places = name ? all(name) : [];
    for (const ref of main.querySelectorAll("[data-ref]")) {
      if (!name || ref.dataset.ref !== name) continue;
      ref.classList.add("on");
      if (ref.hasAttribute("aria-pressed")) ref.setAttribute("aria-pressed", "true");
    }
    at = Math.max(0, places.indexOf(from));
    places[at]?.classList.add("here");
    tell(places);
  };

  const go = (step) => {
    const places = all(part);
    if (!places.length) return;
    places.forEach((ref) => ref.classList.remove("here"));
    at = (at + step + places.length) % places.length;
    places[at].classList.add("here");
    places[at].scrollIntoView({ block: "center", inline: "center" });
    tell(places);
  };

  const touched = (ref) =>
    mark(part === ref.dataset.ref && ref.classList.contains("here") ? "" : ref.dataset.ref, ref);

  main.addEventListener("click", (event) => {
    const ref = event.target.closest("[data-ref]");
    if (ref) {
      if (ref.closest("a")) event.preventDefault();
      touched(ref);
    }
  });
  main.addEventListener("keydown", (event) => {
    const ref = event.target.closest?.("[data-ref]");
    if (ref && (event.key === "Enter" || event.key === " ")) {
      event.preventDefault();
      touched(ref);
    }
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (ref && step) {
      event.preventDefault();
      rove(ref, step);
    }
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    if (ways.open) {
      ways.open = false;
      ways.querySelector("summary").focus();
    } else if (part) mark("");
  });
  bar.querySelector("[data-marked-before]").addEventListener("click", () => go(-1));
  bar.querySelector("[data-marked-next]").addEventListener("click", () => go(1));
  bar.querySelector("[data-marked-clear]").addEventListener("click", () => mark(""));
  ways.addEventListener("click", (event) => {
    if (event.target.closest("a")) ways.open = false;
  });
  document.addEventListener("click", (event) => {
    if (ways.open && !bar.contains(event.target)) ways.open = false;
  });
  new MutationObserver(() => prepare(main)).observe(main, { childList: true, subtree: true });
  prepare(main);
  addEventListener("resize", () => prepare(main));
  /* a drawing too wide for its place shows the part that failed first */
  for (const place of main.querySelectorAll("[data-pan]")) {
    const struck = place.querySelector("g.failed, .box.failed");
    if (!struck || place.scrollWidth <= place.clientWidth) continue;
    const at = struck.getBoundingClientRect(),
      frame = place.getBoundingClientRect();
    place.scrollLeft += at.left + at.width / 2 - frame.left - frame.width / 2;
  }
})();
