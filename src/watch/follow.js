// Keeps an open page the same as the notebook. Only the watch server gives this
// out; it is no part of a bound notebook.
(() => {
  "use strict";
  let shown = document.currentScript.dataset.edition;
  const run = (edition) => edition.split(".")[0];
  // Files other than pages that changed, each with the edition in which it did.
  let stamps = {};
  // The stamp of the finder's index that was fetched last.
  let looked;
  let news = null;
  let busy = false;
  let behind = false;

  // ---- News ----

  function listen() {
    if (document.visibilityState === "hidden") {
      // A browser opens only a few connections to one server: a page that
      // nobody sees leaves its own to the others, and catches up later.
      news?.close();
      news = null;
    } else if (!news) {
      news = new EventSource("/watch/news");
      news.onmessage = (message) => hear(JSON.parse(message.data));
    }
  }

  function hear({ edition, stamps: latest }) {
    if (run(edition) !== run(shown)) {
      location.reload();
      return;
    }
    stamps = latest;
    lookUpAnew();
    if (edition !== shown) catchUp();
  }

  // A finder that was opened has an index of its own, and takes in another.
  function lookUpAnew() {
    const stamp = stamps["finder-index.js"];
    if (stamp === looked || typeof Finder === "undefined" || !Finder.index) return;
    looked = stamp;
    const script = document.createElement("script");
    script.src = stamped("/finder-index.js");
    script.onload = script.onerror = () => script.remove();
    document.head.append(script);
  }

  async function catchUp() {
    if (busy) {
      behind = true;
      return;
    }
    busy = true;
    try {
      const answer = await fetch(location.pathname, { cache: "no-store" });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      shown = page.querySelector("script[data-edition]")?.dataset.edition ?? shown;
      show(page);
    } catch {
      // The server is gone or busy; the next news brings another try.
    } finally {
      busy = false;
      if (behind) {
        behind = false;
        catchUp();
      }
    }
  }

  // ---- The page, put right in place ----

  function show(page) {
    stamp(page);
    document.title = page.title;
    document.documentElement.lang = page.documentElement.lang;
    restyle(page);
    const slips = [...document.querySelectorAll("[popover]:popover-open")].map((slip) => slip.id);
    const focused = document.activeElement?.id;
    const held = heldPlace();
    settle(document.body, page.body);
    for (const id of slips) {
      const slip = document.getElementById(id);
      if (slip?.popover && !slip.matches(":popover-open")) slip.showPopover();
    }
    if (focused && document.activeElement === document.body) {
      document.getElementById(focused)?.focus({ preventScroll: true });
    }
    held();
  }

  // Whatever is at the top of the window stays there, even if something above it
  // grows. Returns what to do once the page has changed.
  function heldPlace() {
    const { scrollX, scrollY } = window;
    const seen = document.elementsFromPoint(innerWidth / 3, 96);
    const chain = [];
    for (let at = seen.find((one) => !one.closest("#CheckPrint, [popover]")); at && at !== document.body; at = at.parentElement) {
      chain.push([at, at.getBoundingClientRect().top]);
    }
    return () => {
      // At the very top, the top is what is held.
      const place = scrollY > 0 && chain.find(([one]) => one.isConnected);
      const moved = place ? place[0].getBoundingClientRect().top - place[1] : 0;
      const top = place ? window.scrollY + moved : scrollY;
      if (top !== window.scrollY) window.scrollTo({ left: scrollX, top, behavior: "instant" });
    };
  }

  const alike = (one, other) => one.nodeType === other.nodeType && one.nodeName === other.nodeName;

  // Makes an element like a fresh one, and touches nothing that is like it already:
  // what is open, focused, played or scrolled in stays so.
  function settle(old, fresh) {
    if (old.isEqualNode(fresh)) return;
    if (old.nodeType !== Node.ELEMENT_NODE) {
      old.nodeValue = fresh.nodeValue;
      return;
    }
    // Whether a fold is open is the reader's business.
    const theirs = (name) => name === "open" && old.nodeName === "DETAILS";
    for (const { name } of [...old.attributes]) {
      if (!fresh.hasAttribute(name) && !theirs(name)) old.removeAttribute(name);
    }
    for (const { name, value } of fresh.attributes) {
      if (old.getAttribute(name) !== value && !theirs(name)) old.setAttribute(name, value);
    }

    // The finder is a guest: no page has it, and it stays last.
    const guest = [...old.childNodes].find((node) => node.classList?.contains("finder"));
    const olds = [...old.childNodes].filter((node) => node !== guest);
    const news = [...fresh.childNodes];
    let start = 0;
    while (start < olds.length && start < news.length && olds[start].isEqualNode(news[start])) start++;
    let oldEnd = olds.length;
    let newEnd = news.length;
    while (oldEnd > start && newEnd > start && olds[oldEnd - 1].isEqualNode(news[newEnd - 1])) {
      oldEnd--;
      newEnd--;
    }
    const end = olds[oldEnd] ?? guest ?? null;
    const wanted = new Set(news.slice(start, newEnd).map((node) => node.id).filter(Boolean));
    const known = new Map(olds.slice(start, oldEnd).filter((node) => node.id).map((node) => [node.id, node]));
    let spot = olds[start] ?? guest ?? null;
    for (const node of news.slice(start, newEnd)) {
      while (spot !== end && spot.id && !wanted.has(spot.id)) {
        const gone = spot;
        spot = spot.nextSibling;
        gone.remove();
      }
      let match = null;
      if (node.id) {
        match = known.get(node.id) ?? null;
        if (match && !alike(match, node)) match = null;
      } else if (spot !== end && !spot.id && alike(spot, node)) {
        match = spot;
      }
      if (!match) {
        old.insertBefore(document.importNode(node, true), spot);
        continue;
      }
      if (match === spot) spot = spot.nextSibling;
      else old.insertBefore(match, spot);
      settle(match, node);
    }
    while (spot !== end) {
      const gone = spot;
      spot = spot.nextSibling;
      gone.remove();
    }
  }

  // ---- Styles and pictures ----

  // A file keeps its address when it changes, and the browser what it has of it;
  // with a stamp behind it the address is another one.
  function stamped(address) {
    const url = new URL(address, location.href);
    if (url.origin !== location.origin) return address;
    const stamp = stamps[decodeURIComponent(url.pathname).slice(1)];
    return stamp ? `${address}?edition=${stamp}` : address;
  }

  function stamp(page) {
    for (const [selector, name] of [["link[rel=stylesheet]", "href"], ["body [src]", "src"]]) {
      for (const one of page.querySelectorAll(selector)) {
        const address = one.getAttribute(name);
        if (address) one.setAttribute(name, stamped(address));
      }
    }
  }

  function restyle(page) {
    const styles = (of) => [...of.querySelectorAll("head link[rel=stylesheet]")];
    const address = (link) => link.getAttribute("href");
    const old = styles(document);
    const fresh = styles(page);
    if (old.map(address).join("\n") === fresh.map(address).join("\n")) return;
    // The old ones go once the new ones are there, so that nothing is bare.
    const added = fresh.map((link) => document.importNode(link));
    let waiting = added.length;
    const done = () => {
      if (--waiting === 0) old.forEach((link) => link.remove());
    };
    for (const link of added) {
      link.onload = link.onerror = done;
      document.head.append(link);
    }
    if (added.length === 0) old.forEach((link) => link.remove());
  }

  document.addEventListener("visibilitychange", listen);
  listen();
})();
