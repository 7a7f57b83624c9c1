// Opening a page, with an ear for all that goes wrong on it.
import { readdir } from "node:fs/promises";
import { join, relative } from "node:path";
import { pathToFileURL } from "node:url";

/** Paths of all pages of a site, in order. */
export async function pagesOf(site) {
  const all = await readdir(site, { recursive: true });
  return all.filter((path) => path.endsWith(".html")).sort();
}

/** A tab of its own that notes errors of the console and requests that leave the site. */
export async function tab({ browser, check }, site, options = {}) {
  const context = await browser.newContext({ bypassCSP: false, ...options });
  const page = await context.newPage();
  const root = pathToFileURL(site).href + "/";
  const where = () => relative(root, page.url()) || page.url();
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) check(false, `${where()}: console: ${message.text()}`);
  });
  page.on("pageerror", (error) => check(false, `${where()}: ${error.message}`));
  page.on("request", (request) => {
    const url = request.url();
    check(url.startsWith(root) || url.startsWith("data:"), `${where()}: asks for ${url}`);
  });
  page.on("requestfailed", (request) => check(false, `${where()}: ${request.url()} was not there`));
  const go = (path) => page.goto(pathToFileURL(join(site, path)).href, { waitUntil: "load" });
  return { page, go, close: () => context.close() };
}

/** What axe-core finds on a page. */
export async function violations(page, axe) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() =>
    axe.run(document, {
      resultTypes: ["violations"],
      preload: false,
      runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    }),
  );
  // The lines of a label in a drawing stand below one another; read as one they
  // lack the space that the name has.
  const drawn = ({ html }) => html.startsWith('<a class="element"');
  for (const one of violations) {
    if (one.id === "label-content-name-mismatch") one.nodes = one.nodes.filter((node) => !drawn(node));
  }
  return violations.filter(({ nodes }) => nodes.length > 0).map(({ id, nodes }) => `${id}: ${nodes.length} × ${nodes[0].html.slice(0, 160)} (${nodes[0].failureSummary?.split("\n")[1]?.trim() ?? ""})`);
}
