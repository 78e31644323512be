/* Designators: touch C3 anywhere on a job and C3 is marked everywhere, with a way from place to place in the bar.
 *
 * Every element with data-ref takes part: in prose, tables, drawings and on board photos. In drawings the letters can be
 * touched but not reached by Tab, since a drawing is one picture to a screen reader; the tables beside it have the same parts.
 * Elements that come later (the reading helper's) take part too, since one listener hears for all.
 */
"use strict";
(() => {
  const main = document.querySelector("main"), bar = document.querySelector("[data-bar]");
  if (!main || !bar) return;
  const marked = bar.querySelector("[data-marked]"), said = bar.querySelector("[data-marked-at]");
  const ways = bar.querySelector("details");
  let part = "", at = -1;

  const all = (name) => [...main.querySelectorAll("[data-ref]")].filter((ref) => ref.dataset.ref === name && ref.getClientRects().length);
  const drawn = (ref) => ref.closest("svg.sheet") !== null;

  /* What can be reached by Tab: a designator once in each paragraph, row or item; the same one again is only touched. */
  const prepare = (root) => {
    const seen = new Map();
    for (const ref of root.querySelectorAll("[data-ref]")) {
      if (part && ref.dataset.ref === part) ref.classList.add("on");
      if (drawn(ref)) { ref.classList.add("touch"); continue; }
      if (ref.hasAttribute("role")) continue;
      const around = ref.closest("p, li, tr, dd, svg, figure") || root;
      const here = seen.get(around) || seen.set(around, new Set()).get(around);
      ref.setAttribute("role", "button");
      ref.setAttribute("aria-pressed", String(ref.dataset.ref === part));
      ref.setAttribute("tabindex", here.has(ref.dataset.ref) ? "-1" : "0");
      here.add(ref.dataset.ref);
    }
  };

  const tell = (places) => {
    marked.hidden = !part;
    said.textContent = part ? bar.dataset.say.replace("{part}", part).replace("{n}", String(at + 1)).replace("{all}", String(places.length)) : "";
  };

  const mark = (name, from) => {
    for (const ref of main.querySelectorAll(".on, .here")) ref.classList.remove("on", "here");
    for (const ref of main.querySelectorAll("[data-ref][aria-pressed=true]")) ref.setAttribute("aria-pressed", "false");
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

  const touched = (ref) => mark(part === ref.dataset.ref && ref.classList.contains("here") ? "" : ref.dataset.ref, ref);

  main.addEventListener("click", (event) => {
    const ref = event.target.closest("[data-ref]");
    if (ref) { if (ref.closest("a")) event.preventDefault(); touched(ref); }
  });
  main.addEventListener("keydown", (event) => {
    const ref = event.target.closest?.("[data-ref]");
    if (ref && (event.key === "Enter" || event.key === " ")) { event.preventDefault(); touched(ref); }
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    if (ways.open) { ways.open = false; ways.querySelector("summary").focus(); }
    else if (part) mark("");
  });
  bar.querySelector("[data-marked-before]").addEventListener("click", () => go(-1));
  bar.querySelector("[data-marked-next]").addEventListener("click", () => go(1));
  bar.querySelector("[data-marked-clear]").addEventListener("click", () => mark(""));
  ways.addEventListener("click", (event) => { if (event.target.closest("a")) ways.open = false; });
  document.addEventListener("click", (event) => { if (ways.open && !bar.contains(event.target)) ways.open = false; });
  new MutationObserver(() => prepare(main)).observe(main, { childList: true, subtree: true });
  prepare(main);
})();
