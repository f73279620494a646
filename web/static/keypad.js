// A keypad for gloves beside the PIN's field; without script the field takes the tablet's own keys.
"use strict";

(() => {
  const form = document.querySelector("[data-keypad]");
  if (!form) return;
  const field = form.querySelector("#pin");
  form.querySelector(".keypad").hidden = false;
  form.addEventListener("click", (event) => {
    const key = event.target.closest("button[type=button]");
    if (!key) return;
    if ("digit" in key.dataset && field.value.length < field.maxLength) field.value += key.dataset.digit;
    if ("clear" in key.dataset) field.value = "";
    if ("back" in key.dataset) field.value = field.value.slice(0, -1);
  });
})();
