// The feed, as a browser's own parser reads it, and the files that a page offers.
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { tab } from "./open.mjs";

export async function reads(on) {
  const { sites, check } = on;
  for (const name of ["team", "customers"]) {
    const site = join(sites, name);
    const { page, go, close } = await tab(on, site);
    await go("boards/carrier/figures.html");
    const feed = await readFile(join(site, "feed.xml"), "utf8");
    const read = await page.evaluate((text) => {
      const document = new DOMParser().parseFromString(text, "application/xml");
      const fault = document.querySelector("parsererror")?.textContent ?? null;
      return { fault, entries: document.querySelectorAll("entry > link[href]").length };
    }, feed);
    check(read.fault === null && read.entries > 5, `the feed of ${name} is XML with entries: ${JSON.stringify(read)}`);
    const offers = () => page.locator("a[download]").evaluateAll((links) => links.map((link) => decodeURI(link.href)));
    const offered = await offers();
    await go("boards/carrier/workings.html");
    offered.push(...(await offers()));
    check(offered.length > 5, `${name}: a calculation sheet and its workings offer their tables`);
    for (const href of offered) {
      const there = await readFile(new URL(href)).then((content) => content.length > 0, () => false);
      check(there, `${name}: ${href} is there`);
    }
    await close();
  }
}
