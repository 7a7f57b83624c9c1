// Every page: no error, no request that leaves the site, no barrier that
// axe-core knows, nothing that runs over the side of a telephone.
import { existsSync } from "node:fs";
import { readdir } from "node:fs/promises";
import { join } from "node:path";
import { pagesOf, tab, violations } from "./open.mjs";

const PHONE = { width: 360, height: 740 };

export async function isTooWide(page) {
  return page.evaluate(() => {
    const { scrollWidth, clientWidth } = document.documentElement;
    if (scrollWidth <= clientWidth) return null;
    const wide = [...document.querySelectorAll("body *")].find((one) => one.getBoundingClientRect().right > clientWidth + 1 && !one.closest(".table, .steps, .drawn, pre, .slips"));
    return `${scrollWidth} px on ${clientWidth}: ${wide?.outerHTML.slice(0, 140)}`;
  });
}

export async function everyPage(on) {
  const { sites, check, axe } = on;
  for (const name of (await readdir(sites)).sort()) {
    const site = join(sites, name);
    const paths = await pagesOf(site);
    // Two tabs share the pages, since axe-core keeps a processor busy.
    const look = async () => {
      const { page, go, close } = await tab(on, site, { viewport: PHONE });
      while (paths.length > 0) {
        const path = paths.shift();
        // Of the many small notebooks with findings, those pages that show them.
        const shown = !name.startsWith("bad-") || /(^|\/)(findings|figures|workings|index)\.html$/.test(path);
        if (!shown || path.startsWith("parts/") && name !== "team") continue;
        await go(path);
        const wide = await isTooWide(page);
        check(wide === null, `${name}/${path} at 360 px: ${wide}`);
        if (name === "team" || name.startsWith("awkward") || path === "findings.html") {
          for (const what of await violations(page, axe)) check(false, `${name}/${path}: ${what}`);
        }
      }
      await close();
    };
    await Promise.all([look(), look()]);
  }
}

/** One page of each kind of the demo. */
export const KINDS = {
  cover: "index.html",
  front: "boards/cell_charger/index.html",
  design: "boards/cell_charger/design.html",
  figures: "boards/cell_charger/figures.html",
  workings: "boards/stone_chime/workings.html",
  pins: "boards/carrier/pins.html",
  fixture: "boards/charger_fixture/fixture.html",
  readings: "boards/cell_charger/readings.html",
  documents: "boards/cell_charger/documents.html",
  revision: "boards/cell_charger/revision-A/index.html",
  revision_figures: "boards/cell_charger/revision-A/figures.html",
  revision_workings: "boards/cell_charger/revision-A/workings.html",
  log: "boards/cell_charger/log/index.html",
  entry: "boards/cell_charger/log/2026-03-12-first-samples.html",
  chime: "boards/stone_chime/index.html",
  stacks: "stacks.html",
  where_used: "parts/index.html",
  totals: "parts/line-totals.html",
  part: "parts/res_5k1.html",
  module: "modules/trail_module.html",
  findings: "findings.html",
};

/** The kinds that there are. */
export const kindsOf = (site) => Object.entries(KINDS).filter(([, path]) => existsSync(join(site, path)));

export async function firstOfEachKind(on) {
  const { sites, check, axe } = on;
  const site = join(sites, "team");
  const lights = [
    { colorScheme: "dark", viewport: { width: 1440, height: 900 } },
    { colorScheme: "light", viewport: { width: 1440, height: 900 } },
    { colorScheme: "light", forcedColors: "active", viewport: { width: 820, height: 1180 } },
    // 1280 px at 400 % are 320 px (WCAG 1.4.10); at 200 % 640 px.
    { viewport: { width: 320, height: 256 } },
    { viewport: { width: 640, height: 512 }, reducedMotion: "reduce" },
    { viewport: { width: 1440, height: 900 }, javaScriptEnabled: false },
  ];
  for (const light of lights) {
    const { page, go, close } = await tab(on, site, light);
    const named = JSON.stringify(light);
    for (const [kind, path] of kindsOf(site)) {
      await go(path);
      if (light.javaScriptEnabled === false) continue;
      const wide = await isTooWide(page);
      check(wide === null, `${kind} with ${named}: ${wide}`);
      for (const what of await violations(page, axe)) check(false, `${kind} with ${named}: ${what}`);
    }
    await close();
  }
}
