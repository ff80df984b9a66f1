// Where no answer comes, what stands there was said of another load: it is not left standing beside this one.
(() => {
  "use strict";
  document.addEventListener("htmx:error", () => document.getElementById("answer")?.setAttribute("data-lost", ""));
})();
