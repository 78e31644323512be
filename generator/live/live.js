// Served by `benchlore live` only: reloads the page when the site has changed, shows what is wrong with the notes.
"use strict";
{
  const seen = document.currentScript.dataset.version;
  const changes = new URL("changes", document.currentScript.src);
  const strip = document.createElement("aside");
  strip.id = "live-problems";
  strip.setAttribute("role", "status");
  Object.assign(strip.style, {
    position: "fixed", insetInline: "0", bottom: "0", zIndex: "2147483647", maxHeight: "40vh", overflow: "auto",
    padding: ".75rem 1rem", background: "#7a0000", color: "#fff", font: "14px/1.5 ui-monospace, monospace",
    whiteSpace: "pre-wrap", overflowWrap: "anywhere",
  });

  const show = (problems) => {
    strip.textContent = ["This is the last good site. The notes have problems:", ...problems].join("\n");
    if (problems.length) document.body.append(strip);
    else strip.remove();
  };

  let source = null;
  const follow = () => {
    source = new EventSource(changes);
    source.onmessage = (event) => {
      const now = JSON.parse(event.data);
      if (now.version === seen) return show(now.problems);
      source.close();
      location.reload();
    };
  };
  // A browser has few connections to one server: a page that nobody sees gives its own back.
  document.addEventListener("visibilitychange", () => {
    source?.close();
    if (!document.hidden) follow();
  });
  if (!document.hidden) follow();
}
