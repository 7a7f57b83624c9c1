// The finder: over sheets, log entries, figures, parts, places for parts and
// pins; by name, designator, value and words. It is loaded on first use, with
// its index and its style. The first half knows no page, so that it can be measured alone.
const Finder = (() => {
  "use strict";

  // ---- Values ----

  const POWERS = { p: -12, n: -9, u: -6, "µ": -6, "μ": -6, m: -3, "": 0, R: 0, r: 0, k: 3, K: 3, M: 6, G: 9 };
  // Ways of writing a unit, each with the unit that it is counted in.
  const UNITS = {
    "Ω": ["Ω", 1], "Ω": ["Ω", 1], ohm: ["Ω", 1], ohms: ["Ω", 1], Ohm: ["Ω", 1],
    V: ["V", 1], A: ["A", 1], W: ["W", 1], F: ["F", 1], H: ["H", 1], Hz: ["Hz", 1], s: ["s", 1], m: ["m", 1],
    Ah: ["Ah", 1], Wh: ["Wh", 1], J: ["J", 1], C: ["C", 1], min: ["s", 60], h: ["s", 3600], d: ["s", 86400],
    "°C": ["°C", 1], K: ["K", 1], "%": ["", 0.01], bit: ["bit", 1], count: ["count", 1], dB: ["dB", 1],
    cent: ["cent", 1], g: ["g", 1], lx: ["lx", 1],
  };

  // A unit with or without a prefix; what is whole goes before what is prefixed.
  function unit(text) {
    if (text === "") return { of: null, power: 0 };
    const whole = UNITS[text];
    if (whole) return { of: whole[0], power: Math.log10(whole[1]) };
    const rest = UNITS[text.slice(1)];
    const power = POWERS[text[0]];
    return rest && power !== undefined ? { of: rest[0], power: power + Math.log10(rest[1]) } : null;
  }

  const plain = (text) => text.replace(/[\u00a0\u2009\u202f]/g, " ").replace(/−/g, "-");
  const scaled = (number, power) => Number(number) * 10 ** power;

  /** `5k1`, `R47`, `5.1 kΩ`, `5100 ohm`, `5100`: number and unit; `null` for anything else. */
  function value(text) {
    const code = /^(\d*)([RrKkMGpnuµμm])(\d*)([FHΩVA]?)$/.exec(text);
    if (code && (code[1] || code[3])) {
      const of = code[4] || (/[Rr]/.test(code[2]) ? "Ω" : null);
      return { number: scaled(`${code[1] || 0}.${code[3] || 0}`, POWERS[code[2]]), of };
    }
    const written = /^(-?\d+(?: \d{3})*(?:\.\d+)?)\s*(\S*)$/.exec(text);
    const counted = written && unit(written[2]);
    return counted ? { number: scaled(written[1].replaceAll(" ", ""), counted.power), of: counted.of } : null;
  }

  /** The first value that a text begins with: that of `5k1 ±1 %`, and of `about 8 h`. */
  function valueIn(text) {
    const words = plain(text).replace(/^(about|at most|at least|up to|[≈≤≥<>])\s*/, "").split(" ");
    return (words.length > 1 && value(`${words[0]} ${words[1]}`)) || value(words[0] ?? "");
  }

  const same = (one, other) =>
    Math.abs(one.number - other.number) <= 1e-6 * Math.abs(other.number) && (one.of === null || other.of === null || one.of === other.of);

  // ---- Index and terms ----

  const folded = (text) => plain(text).toLowerCase().replaceAll("μ", "µ");

  // How much a word weighs by where it stands: in the text, in the title, in the name.
  const WEIGHTS = [1, 5, 8];

  /** Makes the rows of an index ready to be searched: each word with its rows. */
  function prepared(all) {
    const lists = new Map();
    const rows = all.map(([kind, href, name, title, shown, words], at) => {
      [words, `${title} ${shown}`, name].forEach((text, weight) => {
        for (const word of folded(text).split(/[\s,;:()]+/)) {
          const list = lists.get(word);
          if (list) list.push(at * 4 + weight);
          else if (word) lists.set(word, [at * 4 + weight]);
        }
      });
      return { kind, href, name, title, shown };
    });
    const keys = new Map();
    const valued = [];
    rows.forEach((row, at) => {
      const key = folded(row.name);
      keys.set(key, [...(keys.get(key) ?? []), at]);
      const found = row.shown ? valueIn(row.shown) : null;
      if (found) valued.push({ at, ...found });
    });
    const words = [...lists.keys()];
    // What was asked before; while the last word is typed, the others stay.
    const before = new Map();
    const numbers = Float64Array.from(valued, ({ number }) => number);
    return { rows, keys, valued, numbers, words, lists: words.map((word) => Uint32Array.from(lists.get(word))), before };
  }

  /** What was asked: words, and values that may be written in two words. */
  function terms(query) {
    const words = plain(query).trim().split(/\s+/).filter(Boolean);
    const out = [];
    for (let at = 0; at < words.length; at += 1) {
      const isPair = words[at + 1] && /^-?[\d.]+$/.test(words[at]) && unit(words[at + 1]);
      const two = isPair ? `${words[at]} ${words[at + 1]}` : null;
      const text = two ?? words[at];
      if (two) at += 1;
      out.push({ text: folded(text), value: value(text) });
    }
    return out;
  }

  // How well each row answers a term; zero where it does not.
  function scores(index, { text, value: wanted }) {
    const known = index.before.get(text);
    if (known) return known;
    const out = new Uint8Array(index.rows.length);
    for (let at = 0; at < index.words.length; at += 1) {
      const word = index.words[at];
      const place = word.indexOf(text);
      // A letter or two within words would only find everything.
      if (place < 0 || (place > 0 && text.length < 3)) continue;
      const fit = word.length === text.length ? 8 : place === 0 ? 5 : 2;
      const list = index.lists[at];
      for (let of = 0; of < list.length; of += 1) {
        const score = fit * WEIGHTS[list[of] & 3];
        const row = list[of] >>> 2;
        if (score > out[row]) out[row] = score;
      }
    }
    if (wanted) {
      const { number } = wanted;
      const off = 1e-6 * Math.abs(number);
      for (let of = 0; of < index.numbers.length; of += 1) {
        if (Math.abs(index.numbers[of] - number) > off) continue;
        const one = index.valued[of];
        if (same(one, wanted)) out[one.at] = Math.max(out[one.at], 70);
      }
    }
    for (const at of index.keys.get(text) ?? []) out[at] = 100;
    if (index.before.size > 8) index.before.clear();
    index.before.set(text, out);
    return out;
  }

  /** The rows that answer every term, the best first, and how many there are. */
  function search(index, query, most = 40) {
    const asked = terms(query);
    if (asked.length === 0) return { found: [], count: 0 };
    const each = asked.map((term) => scores(index, term));
    const levels = Array.from({ length: 100 * asked.length + 1 }, () => []);
    let count = 0;
    for (let at = 0; at < index.rows.length; at += 1) {
      let sum = 0;
      for (const one of each) {
        if (one[at] === 0) {
          sum = 0;
          break;
        }
        sum += one[at];
      }
      if (sum === 0) continue;
      count += 1;
      if (levels[sum].length < most) levels[sum].push(at);
    }
    const found = levels.reverse().flat().slice(0, most);
    return { found: found.map((at) => index.rows[at]), count };
  }

  return { prepared, search, value };
})();

// ---- On a page ----

if (typeof document !== "undefined") {
  (() => {
    "use strict";
    const KINDS = ["Sheet", "Log entry", "Figure", "Part", "Place", "Pin"];
    const { root } = document.currentScript.dataset;
    let index = null;
    let before = null;

    const made = (name, settings = {}, ...inside) => {
      const one = Object.assign(document.createElement(name), settings);
      one.append(...inside);
      return one;
    };
    const ask = made("input", { id: "Ask", type: "search", autocomplete: "off", spellcheck: false, enterKeyHint: "go" });
    const told = made("p", { className: "told" });
    told.setAttribute("role", "status");
    const list = made("ol", { className: "found", reversed: true });
    const shut = made("button", { type: "button", textContent: "Put away" });
    // It comes into the page with the finder, so no sheet carries it before.
    const style = made("link", { rel: "stylesheet", href: `${root}look/finder.css` });
    const finder = made(
      "search",
      { className: "finder", hidden: true },
      style,
      list,
      made("div", { className: "ask" }, made("label", { htmlFor: "Ask", textContent: "Find" }), ask, shut),
      told,
    );
    finder.setAttribute("aria-label", "Finder");

    function show() {
      if (!index) {
        told.textContent = "Fetching the index";
        return;
      }
      const { found, count } = Finder.search(index, ask.value);
      list.replaceChildren(
        ...found.map((row) => {
          const link = made("a", { href: root + row.href }, made("span", { className: "kind", textContent: KINDS[row.kind] }), " ", made("b", { textContent: row.name }));
          if (row.shown) link.append(" ", made("span", { className: "num", textContent: row.shown }));
          link.append(" ", made("span", { className: "title", textContent: row.title }));
          return made("li", {}, link);
        }),
      );
      const shownAll = count > found.length ? `, the ${found.length} nearest are shown` : "";
      if (ask.value.trim() === "") told.textContent = "A name, a designator, a value such as 5k1, or words. Arrows choose, Enter goes there, Escape puts it away.";
      else told.textContent = count === 1 ? "1 place" : `${count} places${shownAll}`;
      list.scrollTop = list.scrollHeight;
    }

    // The nearest lies at the bottom, next to what was asked.
    const links = () => [...list.querySelectorAll("a")];
    function step(by) {
      const all = links();
      const at = all.indexOf(document.activeElement) + by;
      (at < 0 ? ask : all[Math.min(at, all.length - 1)] ?? ask).focus();
    }

    function open() {
      if (finder.isConnected) {
        unfold();
        return;
      }
      finder.hidden = true;
      // Rather bare than not at all.
      style.onload = style.onerror = unfold;
      document.body.append(finder);
    }
    function unfold() {
      if (finder.hidden) before = document.activeElement;
      finder.hidden = false;
      ask.focus();
      ask.select();
      show();
    }
    function close() {
      document.activeElement?.blur();
      finder.hidden = true;
      before?.focus?.();
    }

    ask.addEventListener("input", show);
    shut.addEventListener("click", close);
    list.addEventListener("click", () => (finder.hidden = true));
    finder.addEventListener("keydown", (event) => {
      if (finder.hidden) return;
      if (event.key === "Escape") close();
      else if (event.key === "ArrowUp") step(1);
      else if (event.key === "ArrowDown") step(-1);
      else if (event.key === "Enter" && event.target === ask) links()[0]?.click();
      else if (event.key.length === 1 && event.target !== ask && event.target !== shut && event.key !== " ") ask.focus();
      else return;
      if (event.key.length > 1) event.preventDefault();
      event.stopPropagation();
    });

    Finder.open = open;
    Finder.index = (fresh) => {
      index = Finder.prepared(fresh);
      if (!finder.hidden) show();
    };
    document.head.append(made("script", { src: `${root}finder-index.js` }));
    open();
  })();
}
