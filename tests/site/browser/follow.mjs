// A page under watch: it follows each save and keeps its place, what is open in it
// and the finder; findings are laid over it and go once they are mended.
import { spawn } from "node:child_process";
import { once } from "node:events";
import { cp, readFile, rm, writeFile } from "node:fs/promises";
import { join } from "node:path";

const SHEET = "boards/cell_charger/front.md";
const RECORD = "boards/cell_charger/board.toml";

export async function follows(on) {
  const { check } = on;
  const notebook = join(on.work, "followed");
  await rm(notebook, { recursive: true, force: true });
  await cp(on.demo, notebook, { recursive: true });
  const watch = spawn(on.program, ["watch", notebook], { env: { ...process.env, NO_COLOR: "1" } });
  try {
    const root = await address(watch);
    const context = await on.browser.newContext({ viewport: { width: 1280, height: 800 } });
    const page = await context.newPage();
    page.on("pageerror", (error) => check(false, `under watch: ${error.message}`));
    page.on("console", (message) => {
      if (message.type() === "error") check(false, `under watch: console: ${message.text()}`);
    });
    page.on("request", (request) => check(request.url().startsWith(root), `under watch: asks for ${request.url()}`));
    await page.goto(`${root}boards/cell_charger/index.html`);
    await saves(page, notebook, check);
    await finder(page, notebook, check);
    await breaks(page, notebook, check, join(on.pictures, "check-print.png"));
    await context.close();
  } finally {
    watch.kill("SIGINT");
    const [code] = watch.exitCode === null ? await once(watch, "exit") : [watch.exitCode];
    check(code === 0, `the watch ends with ${code} when it is interrupted`);
  }
}

/** Where a watch serves, as it says itself, once it has something to serve. */
async function address(watch) {
  let told = "";
  for (const stream of [watch.stdout, watch.stderr]) stream.on("data", (text) => (told += text));
  for (let tries = 0; tries < 600; tries += 1) {
    const found = /http:\/\/127\.0\.0\.1:\d+\//.exec(told);
    if (found && (await fetch(found[0])).ok) return found[0];
    await new Promise((done) => setTimeout(done, 50));
  }
  throw new Error(`the watch names no address: ${told}`);
}

/** Replaces text in a file of the notebook. */
async function edit(notebook, file, from, to) {
  const path = join(notebook, file);
  const text = await readFile(path, "utf8");
  if (!text.includes(from)) throw new Error(`${file} does not say: ${from}`);
  await writeFile(path, text.replace(from, () => to));
}

const says = (page, words) => page.waitForFunction((words) => document.querySelector("#Sheet").textContent.includes(words), words);

async function saves(page, notebook, check) {
  const number = page.locator("#Sheet .prose a.stated[data-slip]").last();
  await number.scrollIntoViewIfNeeded();
  await number.focus();
  await page.waitForFunction(() => document.querySelector(".slip:popover-open"));
  const look = () => page.evaluate(() => [scrollY, document.querySelector(".slip:popover-open")?.id]);
  const before = await look();
  await edit(notebook, SHEET, "Connecting it", "Wiring it to the trail");
  await says(page, "Wiring it to the trail");
  const after = await look();
  check(before[0] > 0 && Math.abs(after[0] - before[0]) < 2, `a save moves the page from ${before[0]} to ${after[0]}`);
  check(before[1] !== undefined && after[1] === before[1], `a save leaves the open slip open: ${before[1]}, ${after[1]}`);
  await page.keyboard.press("Escape");
}

async function finder(page, notebook, check) {
  await page.keyboard.press("/");
  await page.waitForSelector(".finder:not([hidden])");
  const found = async (query) => {
    await page.locator("#Ask").fill(query);
    return page.locator(".found a").count();
  };
  await page.waitForFunction(() => !document.querySelector(".finder .told").textContent.includes("Fetching"));
  check((await found("marsh harrier")) === 0, "what nobody wrote is not found");
  await edit(notebook, SHEET, "Wiring it to the trail", "Wiring it to the marsh harrier");
  await says(page, "marsh harrier");
  const kept = await page.evaluate(() => [document.querySelector(".finder")?.hidden, document.activeElement?.value]);
  check(kept[0] === false && kept[1] === "marsh harrier", `the finder stays open at a save, with what is asked: ${kept}`);
  const is = await page.waitForFunction(() => document.querySelectorAll(".found a").length > 0, null, { timeout: 3000 }).catch(() => null);
  check(is !== null, "the finder finds what was written since it was opened");
  await page.keyboard.press("Escape");
}

async function breaks(page, notebook, check, picture) {
  await edit(notebook, RECORD, "[board]", "[board");
  await page.waitForSelector("#CheckPrint");
  const told = await page.locator("#CheckPrint").textContent();
  check(told.includes(RECORD), "findings name the file that they are in");
  check(await page.locator("#Sheet").getByText("marsh harrier").first().isVisible(), "the last good page stays readable");
  await page.screenshot({ path: picture });
  await edit(notebook, RECORD, "[board", "[board]");
  const gone = await page.waitForSelector("#CheckPrint", { state: "detached", timeout: 10_000 }).catch(() => false);
  check(gone === null, "findings go by themselves once they are mended");
}
