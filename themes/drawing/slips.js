// Slips: the derivation of a stated number opens beside it. Without this file
// every number is a link to its place on the calculation sheet.
(() => {
  "use strict";

  const PAUSE = 250;
  let shown = null;
  let timer = 0;

  const numberAt = (target) => target instanceof Element && target.closest("a[data-slip]");
  const slipOf = (number) => document.getElementById(number.dataset.slip);

  function open(number) {
    clearTimeout(timer);
    const slip = slipOf(number);
    if (!slip?.showPopover || shown?.number === number) return;
    close();
    slip.showPopover({ source: number });
    number.setAttribute("aria-details", slip.id);
    shown = { number, slip };
  }

  function close() {
    clearTimeout(timer);
    if (!shown) return;
    const { number, slip } = shown;
    shown = null;
    number.removeAttribute("aria-details");
    if (slip.isConnected && slip.matches(":popover-open")) slip.hidePopover();
  }

  const soon = (what) => {
    clearTimeout(timer);
    timer = setTimeout(what, PAUSE);
  };
  const within = (target) =>
    shown && target instanceof Node && (shown.slip.contains(target) || shown.number.contains(target));

  document.addEventListener("pointerover", (event) => {
    if (event.pointerType === "touch") return;
    const number = numberAt(event.target);
    if (number) soon(() => open(number));
    else if (within(event.target)) clearTimeout(timer);
    else if (shown && !within(document.activeElement)) soon(close);
  });
  document.addEventListener("focusin", (event) => {
    const number = numberAt(event.target);
    if (number?.matches(":focus-visible")) open(number);
    else if (!within(event.target)) close();
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && shown) {
      close();
      event.stopPropagation();
    }
  });
  // A finger opens the slip first; a second touch goes to the sheet.
  document.addEventListener("click", (event) => {
    const number = numberAt(event.target);
    if (number && event.pointerType === "touch" && shown?.number !== number && slipOf(number)?.showPopover) {
      event.preventDefault();
      open(number);
    } else if (!within(event.target)) {
      close();
    }
  });
})();
