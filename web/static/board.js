// Keeps an open board fresh: the clock moves by itself, and a new plan is fetched when there is one.
"use strict";

(() => {
  const every_ms = 20000;
  const clock = document.querySelector(".masthead .now");
  let known = null;

  const moveNowLine = (now) => {
    const head = document.querySelector("[data-window-start]");
    if (!head) return;
    const start = Date.parse(head.dataset.windowStart);
    const end = Date.parse(head.dataset.windowEnd);
    const place = `${(100 * (Date.parse(now) - start)) / (end - start)}%`;
    for (const line of document.querySelectorAll(".now-line")) {
      line.setAttribute("x1", place);
      line.setAttribute("x2", place);
    }
  };

  const look = async () => {
    if (document.hidden) return;
    let fresh;
    try {
      const answer = await fetch("/board.json", { headers: { Accept: "application/json" } });
      // The sign-in has ended: the page itself leads to the place where one signs in.
      if (answer.status === 401) return window.location.reload();
      if (!answer.ok) return;
      fresh = await answer.json();
    } catch {
      return; // The server is away; the next look will tell.
    }
    if (clock) {
      clock.textContent = fresh.words;
      clock.dateTime = fresh.now;
    }
    moveNowLine(fresh.now);
    // What the wall tells depends on the minute; the board only on the plan.
    const minute = document.querySelector("[data-every-minute]") ? fresh.words : "";
    const seen = `${fresh.version} ${minute}`;
    if (known !== null && known !== seen) window.location.reload();
    known = seen;
  };

  look();
  setInterval(look, every_ms);
})();
