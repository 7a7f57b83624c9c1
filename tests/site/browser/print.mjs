// On paper: as many pages as the sheet needs, none of them empty, frame and
// title block on each.
import { writeFile } from "node:fs/promises";
import { join } from "node:path";
import { inflateSync } from "node:zlib";
import { kindsOf } from "./pages.mjs";
import { pagesOf, tab } from "./open.mjs";

const PX_PER_MM = 96 / 25.4;
const PAPERS = { A4: [210, 297], Letter: [215.9, 279.4] };
// Margins, and what frame, title block and notice take, as in the style sheet.
const [MARGIN_X, MARGIN_Y, BLOCK] = [30, 20, 40];

export async function prints(on) {
  await keepToTheFrame(on);
  const site = join(on.sites, "team");
  const { page, go, close } = await tab(on, site);
  for (const [kind, path] of kindsOf(site)) {
    for (const [paper, [width, height]] of Object.entries(PAPERS)) {
      await page.setViewportSize({ width: Math.round((width - MARGIN_X) * PX_PER_MM), height: 900 });
      await page.emulateMedia({ media: "print" });
      await go(path);
      const tall = await page.evaluate(() => document.querySelector(".paper").getBoundingClientRect().height);
      const pdf = await page.pdf({ format: paper, preferCSSPageSize: false, printBackground: true });
      await page.emulateMedia({ media: "screen" });
      await writeFile(join(on.pictures, `${kind}-${paper}.pdf`), pdf);
      const texts = piecesOf(pdf);
      const least = Math.ceil((tall / PX_PER_MM - BLOCK) / (height - MARGIN_Y - 6));
      // What may not be split leaves room below it.
      const most = Math.ceil(Math.max(1, (tall / PX_PER_MM / (height - MARGIN_Y - BLOCK)) * 1.45)) + 1;
      on.check(
        texts.length >= least && texts.length <= most,
        `${kind} on ${paper}: ${texts.length} pages for ${Math.round(tall / PX_PER_MM)} mm, and ${least} to ${most} would do`,
      );
      texts.forEach((shown, at) => on.check(shown > 40, `${kind} on ${paper}: page ${at + 1} of ${texts.length} is all but empty (${shown} pieces)`));
    }
  }
  await close();
}

/** What is scrolled on a screen would be cut on paper, or cover what stands beside it. */
async function keepToTheFrame(on) {
  const site = join(on.sites, "team");
  const { page, go, close } = await tab(on, site);
  await page.emulateMedia({ media: "print" });
  for (const [paper, [width]] of Object.entries(PAPERS)) {
    await page.setViewportSize({ width: Math.round((width - MARGIN_X) * PX_PER_MM), height: 900 });
    for (const path of await pagesOf(site)) {
      await go(path);
      const over = await page.evaluate(() => {
        const right = (one) => one.getBoundingClientRect().right;
        const frame = document.querySelector(".frame");
        const things = [...document.querySelectorAll("#Sheet :is(table, math, svg, img, pre, p, dl, code)")];
        const box = (one) => one.closest(".steps, .slip") ?? frame;
        return things.filter((one) => !one.closest(".letter") && right(one) > right(box(one)) + (one.closest(".steps") ? 0 : 1)).map((one) => one.outerHTML.slice(0, 100));
      });
      const isCut = await page.evaluate(() => {
        const notice = document.querySelector(".notice-line");
        return !notice || notice.scrollHeight > notice.clientHeight + 1;
      });
      on.check(!isCut, `${path} on ${paper}: the notice is cut, or is not there`);
      on.check(over.length === 0, `${path} on ${paper}: ${over.length} things run out of their boxes: ${over[0]}`);
    }
  }
  await close();
}

/** How many pieces of text each page of a PDF shows. */
function piecesOf(pdf) {
  const text = pdf.toString("latin1");
  const objects = new Map();
  for (const found of text.matchAll(/(?:^|\n)(\d+) 0 obj\b([\s\S]*?)endobj/g)) objects.set(found[1], found[2]);
  const pages = [...objects.values()].filter((object) => /\/Type\s*\/Page\b(?!s)/.test(object));
  return pages.map((object) => {
    const contents = /\/Contents\s+(\d+) 0 R/.exec(object);
    const body = contents && objects.get(contents[1]);
    if (!body) return 0;
    const from = body.indexOf("stream") + "stream".length;
    const raw = Buffer.from(body.slice(from).replace(/^\r?\n/, ""), "latin1");
    let plain = raw;
    try {
      plain = inflateSync(raw, { finishFlush: 2 });
    } catch {
      // Not compressed.
    }
    return (plain.toString("latin1").match(/T[jJ]\b/g) ?? []).length;
  });
}
