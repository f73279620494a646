// Shows how far a planning run is and opens its result when it is over; fills in what would move.
"use strict";

(() => {
  const run = document.querySelector("[data-run]");
  if (!run) return;
  const every_ms = 500;
  const line = run.querySelector("[data-line]");
  const bound = run.querySelector("[data-bound]");
  const keep = run.querySelector("button[value=keep]");

  const look = async () => {
    let figures;
    try {
      const answer = await fetch(run.dataset.run, { headers: { Accept: "application/json" } });
      figures = await answer.json();
      if (!answer.ok) return;
    } catch {
      setTimeout(look, 4 * every_ms); // The server is away for a moment.
      return;
    }
    if (!figures.running) {
      window.location.reload();
      return;
    }
    for (const place of run.querySelectorAll("[data-word]")) {
      const words = figures.words[place.dataset.word];
      // Only what is new, or a screen reader would say the same words twice a second.
      if (words && place.textContent !== words) place.textContent = words;
    }
    line.setAttribute("points", figures.line);
    for (const end of ["y1", "y2"]) bound.setAttribute(end, figures.bound_y);
    // Somebody else may have ended it.
    keep.disabled = figures.ended_by !== null;
    setTimeout(look, every_ms);
  };

  look();
})();

(() => {
  const place = document.querySelector("[data-moves]");
  if (!place) return;
  const every_ms = 700;

  const look = async () => {
    try {
      const answer = await fetch(place.dataset.moves);
      if (answer.status === 200) {
        place.outerHTML = await answer.text();
        return;
      }
      // Published or discarded meanwhile, or signed out: the page as it is now says so.
      if (answer.status !== 202) {
        window.location.reload();
        return;
      }
    } catch {
      // The server is away for a moment.
    }
    setTimeout(look, every_ms);
  };

  setTimeout(look, every_ms);
})();
