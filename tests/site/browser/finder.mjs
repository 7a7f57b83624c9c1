// The finder finds: by name, designator, value and words, by keyboard alone, and
// fast enough for ten thousand sheets.
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { cpuUsage } from "node:process";
import vm from "node:vm";
import { tab, violations } from "./open.mjs";

export async function finds(on) {
  await values(on);
  await onPages(on);
  await fast(on);
}

async function core() {
  const text = await readFile(new URL("../../../themes/drawing/finder.js", import.meta.url), "utf8");
  return vm.runInNewContext(`${text}; Finder`, {});
}

async function values({ check }) {
  const { value } = await core();
  // The same value by IEC 60062, by the SI Brochure, and as it is typed.
  for (const text of ["5k1", "5.1 kΩ", "5.1kΩ", "5100 ohm", "5100 Ω", "5100", "5.10 kohm"]) {
    const read = value(text);
    check(Math.abs(read?.number - 5100) < 1e-6, `\`${text}\` is 5100: ${JSON.stringify(read)}`);
  }
  const others = { "4R7": 4.7, R47: 0.47, "2u2": 2.2e-6, "100 nF": 1e-7, "196 mA": 0.196, "1 MΩ": 1e6, "1 mΩ": 1e-3, "8 h": 28800 };
  for (const [text, number] of Object.entries(others)) {
    const read = value(text);
    check(Math.abs(read?.number / number - 1) < 1e-9, `\`${text}\` is ${number}: ${JSON.stringify(read)}`);
  }
  for (const text of ["charger", "R1", "5k", "k", "", "1.2.3"]) {
    const read = value(text);
    check(text === "R1" || text === "5k" || read === null, `\`${text}\` is no value: ${JSON.stringify(read)}`);
  }
}

async function onPages(on) {
  const { check } = on;
  const { page, go, close } = await tab(on, join(on.sites, "team"), { viewport: { width: 1440, height: 900 } });
  await go("boards/carrier/index.html");
  const asked = await page.evaluate(() => performance.getEntriesByType("resource").filter(({ name }) => /finder/.test(name)).length);
  check(asked === 0, "nothing of the finder is fetched before somebody looks for something");
  await page.keyboard.press("/");
  await page.waitForSelector(".finder:not([hidden])");
  await page.waitForFunction(() => !document.querySelector(".finder .told").textContent.includes("Fetching"));
  const answers = async (query) => {
    await page.locator("#Ask").fill(query);
    return page.locator(".found a").allTextContents();
  };
  const [code, si, typed] = [await answers("5k1"), await answers("5.1 kΩ"), await answers("5100 ohm")];
  const set = (list) => JSON.stringify([...list].sort());
  check(code.length > 3 && set(si) === set(typed), "`5.1 kΩ` and `5100 ohm` find the same");
  check(typed.every((one) => code.includes(one)), "`5k1` finds what they find");
  check((await answers("charge_slow"))[0]?.includes("charge_slow"), "a figure is found by its name");
  check((await answers("SW1"))[0]?.includes("SW1"), "a place is found by its designator");
  check((await answers("first samples")).some((one) => one.startsWith("Log entry")), "a log entry is found by words");
  check((await answers("carrier bus")).some((one) => one.startsWith("Pin")), "pins are found");
  check((await answers("thermistor")).some((one) => one.startsWith("Part")), "parts are found");
  check((await answers("charge_slow zzyzx")).length === 0, "what is not there is not found");
  for (const what of await violations(page, on.axe)) check(false, `the finder: ${what}`);
  await answers("charge_slow");
  await page.screenshot({ path: join(on.pictures, "finder-1440.png") });
  await page.keyboard.press("ArrowUp");
  await page.keyboard.press("ArrowUp");
  const second = await page.evaluate(() => [...document.querySelectorAll(".found a")].indexOf(document.activeElement));
  check(second === 1, "arrows choose");
  await page.keyboard.press("Escape");
  check(await page.locator(".finder").isHidden(), "Escape puts it away");
  await page.keyboard.press("/");
  await page.locator("#Ask").fill("charge_slow");
  await page.keyboard.press("Enter");
  await page.waitForURL(/cell_charger\/figures\.html#figure-charge_slow/);
  await page.locator(".corner .find").click();
  await page.waitForSelector(".finder:not([hidden])");
  check(true, "it opens from the title block");
  await page.setViewportSize({ width: 360, height: 740 });
  await page.waitForTimeout(300);
  await page.locator("#Ask").fill("5k1");
  await page.screenshot({ path: join(on.pictures, "finder-360.png") });
  await close();
  const shop = await tab(on, join(on.sites, "customers"));
  await shop.go("index.html");
  await shop.page.keyboard.press("/");
  await shop.page.waitForSelector(".finder:not([hidden])");
  await shop.page.locator("#Ask").fill("panel_open_cold");
  await shop.page.waitForTimeout(300);
  check((await shop.page.locator(".found a").count()) === 0, "customers do not find what is the team's");
  await shop.close();
}

// Ten thousand sheets, each with four hundred words and five figures.
async function fast({ check }) {
  const finder = await core();
  let seed = 1;
  const random = (most) => {
    seed = (seed * 48271) % 2147483647;
    return seed % most;
  };
  const words = Array.from({ length: 20000 }, () => Array.from({ length: 3 + random(8) }, () => String.fromCharCode(97 + random(26))).join(""));
  const some = (count) => Array.from({ length: count }, () => words[random(words.length)]);
  const rows = [];
  for (let sheet = 0; sheet < 10000; sheet += 1) {
    const href = `boards/b${sheet}/index.html`;
    rows.push([0, href, some(3).join(" "), "Front sheet", "", some(400).join(" ")]);
    for (let figure = 0; figure < 5; figure += 1) {
      rows.push([2, `${href}#f${figure}`, some(2).join("_"), some(6).join(" "), `${1 + random(999)}.${random(10)} mA`, some(4).join(" ")]);
    }
  }
  const ready = finder.prepared(rows);
  const query = `${rows[6000][5].split(" ")[7]} ${rows[6000][5].split(" ")[200]} 196 mA 5k1`;
  const times = [];
  for (let at = 1; at <= query.length; at += 1) {
    // Time of this process, since the machine may have other things to do.
    const begun = cpuUsage();
    finder.search(ready, query.slice(0, at));
    const { user, system } = cpuUsage(begun);
    times.push((user + system) / 1000);
  }
  times.sort((one, other) => one - other);
  const [middle, most, worst] = [times[Math.floor(times.length / 2)], times[Math.floor(times.length * 0.9)], times.at(-1)];
  console.log(`  ${rows.length} rows of 10,000 sheets: ${middle.toFixed(1)} ms a key, nine of ten under ${most.toFixed(1)} ms, ${worst.toFixed(1)} ms at worst`);
  check(most < 50, `a key costs ${most.toFixed(1)} ms with 10,000 sheets`);
}
