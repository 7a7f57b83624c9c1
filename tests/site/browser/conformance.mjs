// Every page against the HTML standard, by the checker that its editors' group
// keeps.
import { execFile } from "node:child_process";
import { createRequire } from "node:module";
import { join } from "node:path";
import { env } from "node:process";
import { promisify } from "node:util";

export async function conforms({ sites, check }) {
  const jar = String(createRequire(join(env.WORK, "package.json"))("vnu-jar"));
  const args = ["-jar", jar, "--errors-only", "--format", "json", "--skip-non-html", "--exit-zero-always", sites];
  const { stderr } = await promisify(execFile)("java", args, { maxBuffer: 1 << 28 });
  const { messages } = JSON.parse(stderr);
  const seen = new Map();
  for (const { url, lastLine, message } of messages) {
    const where = seen.get(message) ?? [];
    where.push(`${url}:${lastLine}`);
    seen.set(message, where);
  }
  for (const [message, where] of seen) check(false, `${where.length} × HTML: ${message} (${where[0]})`);
  check(messages.length === 0, "the HTML of every page conforms");
}
