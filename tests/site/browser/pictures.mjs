// Pictures of one page of each kind, for people to look at.
import { join } from "node:path";
import { kindsOf } from "./pages.mjs";
import { tab } from "./open.mjs";

export async function looks(on) {
  const site = join(on.sites, "team");
  for (const colorScheme of ["light", "dark"]) {
    for (const width of [360, 820, 1440]) {
      const { page, go, close } = await tab(on, site, { colorScheme, viewport: { width, height: 1000 } });
      for (const [kind, path] of kindsOf(site)) {
        await go(path);
        await page.screenshot({ path: join(on.pictures, `${kind}-${width}-${colorScheme}.png`), fullPage: true });
      }
      await close();
    }
  }
}
