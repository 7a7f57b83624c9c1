// What a reader does: opens a slip by keyboard, by mouse and by touch, listens,
// skips to the sheet, comes to everything with Tab.
import { join } from "node:path";
import { tab } from "./open.mjs";

const openSlip = (page) => page.evaluate(() => document.querySelector(".slip:popover-open")?.id ?? null);

export async function uses(on) {
  await slips(on);
  await touch(on);
  await sounds(on);
  await keyboard(on);
}

async function slips(on) {
  const { page, go, close } = await tab(on, join(on.sites, "team"), { viewport: { width: 1440, height: 900 } });
  const { check } = on;
  await go("boards/cell_charger/index.html");
  const number = page.locator(".prose a.stated").first();
  await page.keyboard.press("Tab");
  for (let at = 0; at < 60 && (await openSlip(page)) === null; at += 1) await page.keyboard.press("Tab");
  const id = await openSlip(page);
  check(id?.startsWith("Slip-"), "a slip opens when its number is reached by keyboard");
  const focused = await page.evaluate(() => document.activeElement?.dataset.slip ?? null);
  check(focused === id, "the slip is that of the number");
  const near = await page.evaluate(() => {
    const slip = document.querySelector(".slip:popover-open").getBoundingClientRect();
    const number = document.activeElement.getBoundingClientRect();
    const apart = Math.max(slip.top - number.bottom, number.top - slip.bottom, slip.left - number.right, number.left - slip.right);
    return apart < 24 && slip.top >= 0 && slip.left >= 0 && slip.right <= innerWidth;
  });
  check(near, "the slip lies beside its number and within the window");
  await page.keyboard.press("Escape");
  check((await openSlip(page)) === null, "Escape closes the slip");
  await number.hover();
  await page.waitForTimeout(600);
  check((await openSlip(page)) !== null, "a slip opens under the mouse");
  const slip = page.locator(".slip:popover-open");
  await slip.hover();
  await page.waitForTimeout(600);
  check((await openSlip(page)) !== null, "it stays while the mouse is on it");
  await page.mouse.move(5, 5);
  await page.waitForTimeout(700);
  check((await openSlip(page)) === null, "it closes when the mouse has left");
  await number.click();
  await page.waitForURL(/figures\.html#figure-/);
  check(true, "its number leads to the calculation sheet");
  await close();
}

async function touch(on) {
  const { page, go, close } = await tab(on, join(on.sites, "team"), {
    viewport: { width: 360, height: 740 },
    hasTouch: true,
    isMobile: true,
  });
  await go("boards/cell_charger/index.html");
  await page.locator(".prose a.stated").first().tap();
  on.check((await openSlip(page)) !== null, "a slip opens at a touch");
  await page.locator(".prose a.stated").first().tap();
  await page.waitForURL(/figures\.html#figure-/);
  await close();
}

async function sounds(on) {
  const { page, go, close } = await tab(on, join(on.sites, "team"));
  await go("boards/stone_chime/index.html");
  const played = await page.evaluate(async () => {
    const [player] = document.querySelectorAll("audio");
    player.volume = 0.05;
    await player.play();
    await new Promise((done) => setTimeout(done, 600));
    const { currentTime, duration, error } = player;
    player.pause();
    return { currentTime, duration, error: error?.message ?? null };
  });
  on.check(played.error === null && played.currentTime > 0 && played.duration > 0.5, `a sound plays: ${JSON.stringify(played)}`);
  await close();
}

// Whatever can be used is reached with Tab, once, and shows that it is.
async function keyboard(on) {
  const { page, go, close } = await tab(on, join(on.sites, "team"), { viewport: { width: 1440, height: 900 } });
  for (const path of ["index.html", "boards/carrier/pins.html", "boards/stone_chime/index.html"]) {
    await go(path);
    await page.keyboard.press("Tab");
    const first = await page.evaluate(() => document.activeElement.className);
    on.check(first === "skip", `${path}: Tab comes to the link that skips to the sheet first`);
    const all = await page.evaluate(() => {
      const usable = "a[href]:not([tabindex='-1']), button, summary, audio, [tabindex='0']";
      const seen = [...document.querySelectorAll(usable)].filter((one) => one.checkVisibility() && !one.closest("[popover]"));
      seen.forEach((one, at) => (one.dataset.place = at));
      return seen.length;
    });
    const reached = new Set();
    const bare = [];
    // A player has several places of its own.
    for (let at = 0; at < all + 250 && reached.size < all; at += 1) {
      const now = await page.evaluate(() => {
        const one = document.activeElement;
        const style = getComputedStyle(one);
        return { place: one.dataset.place, line: style.outlineStyle !== "none" || one.localName === "audio", html: one.outerHTML.slice(0, 100) };
      });
      if (now.place !== undefined) {
        reached.add(now.place);
        if (!now.line) bare.push(now.html);
      }
      await page.keyboard.press("Tab");
    }
    on.check(reached.size === all, `${path}: ${reached.size} of ${all} are reached with Tab`);
    on.check(bare.length === 0, `${path}: focus does not show on ${bare[0]}`);
  }
  await close();
}
