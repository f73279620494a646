// Keeps an open page true: the server tells when something happened, and the page's content is fetched anew.
"use strict";

(() => {
  const poll_ms = 2000;
  const silent_ms = 8000;
  let mark = null;
  let heard = Date.now();
  let lost = null;
  let source = null;
  let polling = null;

  const tell = (away) => {
    let line = document.querySelector(".out-of-touch");
    if (!away) {
      lost = null;
      if (line) line.remove();
      return;
    }
    if (lost) return;
    lost = new Date();
    line = document.createElement("p");
    line.className = "out-of-touch";
    line.setAttribute("role", "status");
    const time = lost.toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    line.textContent = `Out of touch with the server since ${time}. What you see may be old.`;
    document.body.prepend(line);
  };

  // A person who is typing, or has opened something, is not disturbed.
  const busy = () => {
    const at = document.activeElement;
    if (at && /^(INPUT|SELECT|TEXTAREA)$/.test(at.tagName) && at.value && at.type !== "checkbox") return true;
    return document.querySelector("main details[open] form") !== null;
  };

  const renew = async () => {
    if (busy()) {
      let line = document.querySelector(".has-changed");
      if (!line) {
        line = document.createElement("p");
        line.className = "notice soon has-changed";
        line.setAttribute("role", "status");
        line.textContent = "Something has changed since this page was made. Finish, or open it anew.";
        document.querySelector("main").prepend(line);
      }
      return;
    }
    const answer = await fetch(window.location.href, { headers: { Accept: "text/html", "X-Soakline-Renewal": "page" } });
    if (!answer.ok || answer.redirected) return window.location.reload();
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const main = document.querySelector("main");
    const fresh = page.querySelector("main");
    const at = document.activeElement && document.activeElement.id;
    if (!main || !fresh) return window.location.reload();
    main.replaceChildren(...fresh.childNodes);
    if (at) document.getElementById(at)?.focus();
    const clock = document.querySelector(".masthead .now");
    const ticked = page.querySelector(".masthead .now");
    if (clock && ticked) clock.textContent = ticked.textContent;
    document.dispatchEvent(new CustomEvent("renewed"));
  };

  const take = (fresh) => {
    heard = Date.now();
    tell(false);
    if (mark !== null && mark !== fresh) renew().catch(() => tell(true));
    mark = fresh;
  };

  const look = async () => {
    try {
      const answer = await fetch("/live.json", { headers: { Accept: "application/json" } });
      // The sign-in has ended: the page itself leads to the place where one signs in.
      if (answer.status === 401 && !busy()) return window.location.reload();
      if (!answer.ok) throw new Error(answer.status);
      take((await answer.json()).mark);
    } catch {
      tell(true);
    }
  };

  const listen = () => {
    if (!window.EventSource) return poll();
    source = new EventSource("/live");
    source.addEventListener("mark", (event) => take(JSON.parse(event.data).mark));
    source.addEventListener("quiet", () => { heard = Date.now(); tell(false); });
    source.onopen = () => { heard = Date.now(); tell(false); };
    source.onerror = () => {
      if (source.readyState === EventSource.CLOSED) {
        source = null;
        poll();
      } else if (Date.now() - heard > 3000) {
        tell(true);
      }
    };
  };

  const poll = () => {
    if (polling) return;
    polling = setInterval(look, poll_ms);
    look();
  };

  setInterval(() => {
    if (source && Date.now() - heard > silent_ms) look();
  }, 2000);
  if (document.body.classList.contains("wall")) {
    // More machines than have room are shown in turns; the rest of the wall depends on the minute.
    const turn = document.querySelector("[data-turn-s]");
    const every_ms = turn ? Number(turn.dataset.turnS) * 1000 : 60000;
    setInterval(() => renew().catch(() => tell(true)), every_ms);
  }
  listen();
})();
