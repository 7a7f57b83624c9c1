// Opens bound sites in a headless browser, the way a reader does: from the disk,
// without a server and without a network; and a watched one, as a contributor does.
// Pictures are kept in `target/browser/pictures`; nothing here writes anywhere
// but in `target/browser`.
import { mkdir, rm } from "node:fs/promises";
import { createRequire } from "node:module";
import { join } from "node:path";
import { env, exit } from "node:process";
import { conforms } from "./conformance.mjs";
import { everyPage, firstOfEachKind } from "./pages.mjs";
import { finds } from "./finder.mjs";
import { follows } from "./follow.mjs";
import { looks } from "./pictures.mjs";
import { prints } from "./print.mjs";
import { reads } from "./reading.mjs";
import { uses } from "./use.mjs";

const work = env.WORK;
const require = createRequire(join(work, "package.json"));
const { chromium } = require("playwright-core");
const axe = require("axe-core").source;

const faults = [];
let checks = 0;
/** Notes what does not hold; all of it is told at the end. */
export function check(holds, what) {
  checks += 1;
  if (!holds) {
    faults.push(what);
    console.log(`  FAULT ${what}`);
  }
}

const sites = join(work, "sites");
const pictures = join(work, "pictures");
await rm(pictures, { recursive: true, force: true });
await mkdir(pictures, { recursive: true });

const browser = await chromium.launch({
  executablePath: env.CHROMIUM,
  args: ["--no-sandbox", "--autoplay-policy=no-user-gesture-required"],
});
const on = { browser, axe, sites, pictures, check, work, demo: env.DEMO, program: env.PROGRAM };
const parts = { conforms, everyPage, firstOfEachKind, reads, uses, finds, follows, prints, looks };
const wanted = process.argv.slice(2);
try {
  for (const [name, part] of Object.entries(parts)) {
    if (wanted.length > 0 && !wanted.includes(name)) continue;
    const begun = Date.now();
    await part(on);
    console.log(`${name}: ${((Date.now() - begun) / 1000).toFixed(1)} s`);
  }
} finally {
  await browser.close();
}
console.log(`pictures are in ${pictures}`);
console.log(`${checks} checks, ${faults.length} faults`);
if (faults.length > 0) {
  for (const fault of faults) console.error(`fault: ${fault}`);
  exit(1);
}
