// Keys for the desk. Every one of them presses or focuses something that is on the page; none is needed.
(() => {
  "use strict";
  const STORE = "cantrail.desk.keys";
  const read = () => { try { return localStorage.getItem(STORE) !== "off"; } catch { return true; } };
  let on = read();
  const toggle = document.getElementById("keys-switch");
  const show = () => {
    document.documentElement.classList.toggle("keys-off", !on);
    if (!toggle) return;
    toggle.setAttribute("aria-pressed", String(on));
    toggle.textContent = on ? "Keys are on" : "Keys are off";
  };
  if (toggle) {
    toggle.parentElement.hidden = false;
    toggle.addEventListener("click", () => {
      on = !on;
      try { localStorage.setItem(STORE, on ? "on" : "off"); } catch { /* it lasts as long as the page */ }
      show();
    });
  }
  show();
  const typing = (at) => at.isContentEditable || at.tagName === "TEXTAREA" || at.tagName === "SELECT"
    || (at.tagName === "INPUT" && !["radio", "checkbox", "submit", "button"].includes(at.type));
  const seen = (each) => each.getClientRects().length > 0;
  const along = (step) => {
    const links = [...document.querySelectorAll(".queue h3 a")];
    const at = links.indexOf(document.activeElement);
    const next = links[at < 0 ? (step > 0 ? 0 : links.length - 1) : at + step];
    if (next) next.focus();
  };
  // The next of some choices, the first after the last; where it asks for more, what it asks for has the focus.
  const turn = (radios) => {
    const next = radios[(radios.findIndex((each) => each.checked) + 1) % radios.length];
    next.click();
    next.focus();
    const more = next.value === "these" && next.closest(".dimension").querySelector(".these input");
    if (more) more.focus();
  };
  const sizes = () => document.querySelectorAll(".zoom").forEach((each) => {
    const radios = [...each.querySelectorAll("input")];
    radios[(radios.findIndex((one) => one.checked) + 1) % radios.length].checked = true;
  });
  const press = (found) => {
    found.focus();
    found.click();
    if (found.tagName === "SUMMARY") found.parentElement.querySelector("input:not([type=hidden])")?.focus();
    if (found.name === "decision" || found.name === "settlement" || found.name === "finding") {
      const code = found.form.querySelector(".only-coded select");
      (code && seen(code) && !code.value ? code : found.form.querySelector("textarea"))?.focus();
    }
  };
  // Another page of the evidence is looked at in the size that was chosen, and is what the arrow keys move.
  let size = "";
  document.addEventListener("htmx:before:swap", () => { size = document.querySelector("#evidence .zoom :checked")?.value ?? ""; });
  document.addEventListener("htmx:after:swap", () => {
    const same = size && document.querySelector(`#evidence .zoom [value="${size}"]`);
    if (same) same.checked = true;
    document.querySelector("#evidence .paper")?.focus();
  });
  document.addEventListener("keydown", (event) => {
    if (!on || event.altKey || event.isComposing || event.defaultPrevented) return;
    const at = event.target;
    if (typing(at)) {
      if (event.key === "Escape") at.blur();
      if (event.key === "Enter" && (event.ctrlKey || event.metaKey) && at.form) {
        event.preventDefault();
        at.form.requestSubmit(at.form.querySelector("button.main") ?? undefined);
      }
      return;
    }
    if (event.ctrlKey || event.metaKey) return;
    const own = { j: () => along(1), k: () => along(-1), z: sizes, r: () => document.getElementById("reason")?.focus() };
    const found = [...document.querySelectorAll(`[data-key="${CSS.escape(event.key)}"]`)].find(seen);
    const cycle = document.querySelector(`[data-cycle="${CSS.escape(event.key)}"]`);
    if (found) {
      event.preventDefault();
      press(found);
    } else if (cycle) {
      event.preventDefault();
      turn([...cycle.querySelectorAll("input[type=radio]")]);
    } else if (Object.hasOwn(own, event.key)) {
      event.preventDefault();
      own[event.key]();
    }
  });
})();
