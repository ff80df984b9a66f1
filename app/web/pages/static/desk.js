// Keys for the desk. Every one of them presses or focuses something that is on the page; none is needed.
(() => {
  "use strict";
  const STORE = "cantrail.desk.keys";
  const read = () => { try { return localStorage.getItem(STORE) !== "off"; } catch { return true; } };
  let on = read();
  const toggle = document.getElementById("keys-switch");
  const show = () => {
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
    show();
  }
  const typing = (at) => at.isContentEditable || at.tagName === "TEXTAREA" || at.tagName === "SELECT"
    || (at.tagName === "INPUT" && !["radio", "checkbox", "submit", "button"].includes(at.type));
  const along = (step) => {
    const links = [...document.querySelectorAll(".queue h3 a")];
    const at = links.indexOf(document.activeElement);
    const next = links[at < 0 ? (step > 0 ? 0 : links.length - 1) : at + step];
    if (next) next.focus();
  };
  const sizes = () => {
    const found = [...document.querySelectorAll(".zoom input")];
    if (found.length) found[(found.findIndex((each) => each.checked) + 1) % found.length].checked = true;
  };
  document.addEventListener("keydown", (event) => {
    if (!on || event.ctrlKey || event.altKey || event.metaKey || event.isComposing || typing(event.target)) return;
    const own = { j: () => along(1), k: () => along(-1), z: sizes, r: () => document.getElementById("reason")?.focus() };
    const found = document.querySelector(`[data-key="${CSS.escape(event.key)}"]`);
    if (found) {
      event.preventDefault();
      found.focus();
      found.click();
      if (found.type === "radio") document.getElementById("reason")?.focus();
    } else if (Object.hasOwn(own, event.key)) {
      event.preventDefault();
      own[event.key]();
    }
  });
})();
