// @ts-check
// Both sides of a board, laid over one another. Without this script they stand one beside the other.
"use strict";
for (const board of document.querySelectorAll(".board")) {
  const slider = board.querySelector(".board-slider");
  const bottom = board.querySelector(".board-bottom");
  if (!slider || !bottom) continue;
  const input = slider.querySelector("input[type=range]"),
    turn = slider.querySelector("[data-board-unmirrored]");
  const show = () => {
    const share = Number(input.value);
    board.style.setProperty("--board-bottom", String(share / 100));
    board.classList.toggle("shows-bottom", share >= 50);
    board.classList.toggle("top-only", share === 0); // what cannot be seen cannot be reached by Tab either
    board.classList.toggle("bottom-only", share === 100);
  };
  board.classList.add("laid");
  slider.hidden = false;
  input.addEventListener("input", show);
  turn?.addEventListener("change", () => {
    board.classList.toggle("unmirrored", turn.checked);
    input.disabled = turn.checked;
  });
  show(); // a browser may have kept the slider where it was
}
