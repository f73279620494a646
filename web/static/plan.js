// Shows how far a planning run is, and opens its result when it is over.
"use strict";

(() => {
  const run = document.querySelector("[data-run]");
  if (!run) return;
  const every_ms = 500;
  const bar = run.querySelector("progress");

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
    if (figures.jobs) {
      bar.max = figures.jobs;
      bar.value = figures.placed;
    }
    setTimeout(look, every_ms);
  };

  look();
})();
