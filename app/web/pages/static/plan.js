// Where no answer comes, what stands there was said of another load: it is not left standing beside this one.
(() => {
  "use strict";
  const mark = (lost) => document.getElementById("answer")?.toggleAttribute("data-lost", lost);
  document.addEventListener("htmx:error", () => mark(true));
  document.addEventListener("htmx:after:swap", () => mark(false));
})();
