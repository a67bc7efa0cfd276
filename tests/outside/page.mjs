// The page in a real browser. Usage: page.mjs PAGE OUT
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { chromium } from "playwright-core";

const [page, out] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const wrong = [];
let passed = 0;
const check = (what, holds, detail = "") => {
  if (holds) passed += 1;
  else wrong.push(`${what} ${detail}`);
};

const browser = await chromium.launch({
  executablePath: "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
});
for (const colorScheme of ["light", "dark"]) {
  for (const [name, width] of [["desktop", 1280], ["phone", 360]]) {
    const context = await browser.newContext({ colorScheme, viewport: { width, height: 900 } });
    const tab = await context.newPage();
    const asked = [];
    const said = [];
    tab.on("request", (request) => asked.push(request.url()));
    tab.on("console", (message) => message.type() === "error" && said.push(message.text()));
    tab.on("pageerror", (error) => said.push(String(error)));
    await tab.goto(`file://${page}`);
    const where = `${name}, ${colorScheme}:`;
    check(`${where} asks the network for nothing`, asked.every((url) => url.startsWith("file://")), asked.join(" "));
    check(`${where} no console error`, said.length === 0, said.join(" "));
    const overflow = await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    check(`${where} no horizontal scroll`, overflow <= 0, `${overflow} px`);
    const dead = await tab.evaluate(() =>
      [...document.querySelectorAll('a[href^="#"]')].map((a) => a.getAttribute("href").slice(1))
        .filter((id) => !document.getElementById(id)));
    check(`${where} every link resolves`, dead.length === 0, dead.join(" "));
    const twice = await tab.evaluate(() => {
      const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
      return ids.filter((id, i) => ids.indexOf(id) !== i);
    });
    check(`${where} no id stands twice`, twice.length === 0, twice.join(" "));
    await tab.screenshot({ path: `${out}/${name}-${colorScheme}.png` });
    await tab.screenshot({ path: `${out}/${name}-${colorScheme}-whole.png`, fullPage: true });
    await tab.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
    const opened = await tab.evaluate(() => document.documentElement.scrollWidth - innerWidth);
    check(`${where} no horizontal scroll with all opened`, opened <= 0, `${opened} px`);
    await tab.addScriptTag({ content: axe });
    const found = await tab.evaluate(() => axe.run());
    const grave = found.violations.filter((v) => ["serious", "critical"].includes(v.impact));
    const told = grave.map((v) => `${v.id}: ${v.nodes[0].target} ${v.nodes[0].failureSummary}`);
    check(`${where} no grave accessibility finding`, grave.length === 0, told.join("\n"));
    await context.close();
  }
}
const tab = await browser.newPage();
await tab.goto(`file://${page}`);
await tab.pdf({ path: `${out}/dashboard.pdf`, preferCSSPageSize: true });
await browser.close();
for (const line of wrong) console.log(line);
console.log(`${passed} passed, ${wrong.length} failed`);
process.exit(wrong.length ? 1 : 0);
