// What every sheet does on its own: `/` or the button in the title block opens the
// finder, which is fetched when somebody wants it.
(() => {
  "use strict";

  const root = document.currentScript.src.replace(/look\/sheet\.js.*$/, "");
  function find() {
    if (typeof Finder !== "undefined" && Finder.open) {
      Finder.open();
    } else if (!document.querySelector("script[data-root]")) {
      const script = document.createElement("script");
      script.src = `${root}look/finder.js`;
      script.dataset.root = root;
      document.head.append(script);
    }
  }
  document.addEventListener("click", (event) => {
    if (event.target instanceof Element && event.target.closest(".find")) find();
  });
  document.addEventListener("keydown", (event) => {
    const typing = event.target instanceof Element && event.target.matches("input, textarea, select, [contenteditable]");
    if (event.key !== "/" || typing || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    find();
  });
})();
