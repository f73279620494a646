// Touches that survive a dropped connection: each waits on this device until the server has answered, in order.
"use strict";

(() => {
  const shelf = "soakline touches";
  const waiting = () => JSON.parse(localStorage.getItem(shelf) || "[]");
  const keep = (list) => localStorage.setItem(shelf, JSON.stringify(list));
  let sending = false;

  const newKey = () => {
    const bytes = crypto.getRandomValues(new Uint8Array(12));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  };

  const say = (text, tone) => {
    let line = document.querySelector(".touch-says");
    if (!line) {
      line = document.createElement("p");
      line.setAttribute("role", "status");
      document.querySelector("main").prepend(line);
    }
    line.className = `notice touch-says ${tone || ""}`;
    line.textContent = text;
  };

  const count = () => {
    const list = waiting();
    if (!list.length) return;
    const since = new Date(list[0].touched_at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
    say(`No connection. ${list.length === 1 ? "1 step waits" : `${list.length} steps wait`} on this device since ${since} and will be sent by itself.`, "soon");
  };

  // The token belongs to the page and the sign-in of now, not of when the touch was made.
  const token = () => document.querySelector('input[name="csrf_token"]')?.value || "";

  const send = async () => {
    if (sending) return;
    sending = true;
    let done = null;
    try {
      for (let list = waiting(); list.length; list = waiting()) {
        const fields = new URLSearchParams(list[0].fields);
        fields.set("csrf_token", token());
        fields.set("touched_at", list[0].touched_at);
        let answer;
        try {
          answer = await fetch("/floor/do", {
            method: "POST",
            body: fields,
            headers: { Accept: "application/json", "Content-Type": "application/x-www-form-urlencoded" },
          });
        } catch {
          count();
          return;
        }
        if (answer.status === 401) {
          const steps = list.length === 1 ? "1 step waits" : `${list.length} steps wait`;
          say(`The sign-in has ended. ${steps} on this device and will be sent once you are signed in.`, "soon");
          return;
        }
        if (answer.status >= 500) {
          count();
          return;
        }
        const told = await answer.json().catch(() => ({ text: "The server's answer can't be read." }));
        keep(waiting().slice(1));
        done = { text: told.text || told.title, ok: answer.ok, kind: told.kind, back: fields.get("back") };
        if (!answer.ok) break;
      }
    } finally {
      sending = false;
    }
    if (!done) return;
    if (done.ok) {
      sessionStorage.setItem("soakline said", done.text);
      const here = window.location.pathname + window.location.search;
      if (done.back && done.back !== here) window.location.assign(done.back);
      else window.location.reload();
    } else {
      say(done.text, "call");
      for (const button of document.querySelectorAll("button[disabled]")) button.disabled = false;
      if (waiting().length) send();
    }
  };

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !("touch" in form.dataset)) return;
    event.preventDefault();
    const fields = new FormData(form, event.submitter || undefined);
    fields.delete("csrf_token");
    fields.set("key", newKey());
    const touch = { fields: Array.from(fields.entries()), touched_at: new Date().toISOString() };
    for (const button of form.querySelectorAll("button")) button.disabled = true;
    keep([...waiting(), touch]);
    send();
    setTimeout(() => { for (const button of form.querySelectorAll("button")) button.disabled = false; }, 4000);
  });

  // The server's clock counts; a tablet's may be off.
  const clock = document.querySelector(".masthead .now");
  const ahead_ms = clock ? Date.parse(clock.dateTime) - Date.now() : 0;

  const tick = () => {
    for (const place of document.querySelectorAll("[data-until]")) {
      const minutes = Math.round((Date.parse(place.dataset.until) - Date.now() - ahead_ms) / 60000);
      const size = Math.abs(minutes);
      const words = size < 60 ? `${size} min` : `${Math.floor(size / 60)} h ${String(size % 60).padStart(2, "0")} min`;
      place.textContent = minutes > 0 ? `in ${words}` : `${words} ago`;
    }
  };

  window.addEventListener("online", send);
  setInterval(send, 3000);
  const said = sessionStorage.getItem("soakline said");
  if (said) {
    sessionStorage.removeItem("soakline said");
    say(`${said}.`);
  }
  count();
  send();
  tick();
  setInterval(tick, 15000);
  document.addEventListener("renewed", tick);
})();
