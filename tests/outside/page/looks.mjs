// A page in each width and theme: what it asks for, how it opens, whether it fits,
// what axe-core finds.
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const limitMs = 1000;
// Read side by side: the first takes as long as the others together.
const lanes = [
  [[1280, "light"]],
  [[360, "light"], [1280, "dark"], [360, "dark"]],
];

// Reads the page in each; `further` checks the page with all details opened.
// Returns how fast it opened.
export const looks = async (browser, page, check, further) => {
  const opened = await opening(browser, page, check);
  await Promise.all(lanes.map(async (lane) => {
    for (const [width, theme] of lane) await look(browser, page, width, theme, check, further);
  }));
  return opened;
};

const look = async (browser, page, width, colorScheme, check, further) => {
  const where = `${width} ${colorScheme}`;
  const context = await browser.newContext({ colorScheme, viewport: { width, height: 900 } });
  const tab = await context.newPage();
  const asked = [];
  const said = [];
  const dialogs = [];
  tab.on("request", (request) => asked.push(request.url()));
  tab.on("console", (message) => message.type() === "error" && said.push(message.text()));
  tab.on("pageerror", (error) => said.push(String(error)));
  tab.on("dialog", (dialog) => { dialogs.push(dialog.message()); return dialog.dismiss(); });
  await tab.goto(page.url);
  await fits(tab, where, check);
  await tab.screenshot({ path: `${page.shot}-${width}-${colorScheme}.png` });
  if (colorScheme === "light") await tab.screenshot({ path: `${page.shot}-${width}-whole.png`, fullPage: true });
  await tab.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  await fits(tab, `${where}, all opened`, check);
  await accessible(tab, where, check);
  await further(tab, where);
  // Asked last: what came before may have set something off.
  const others = asked.filter((url) => url !== page.url);
  check(`${where}, asks for nothing but itself`, others.length === 0, others.join(" "));
  check(`${where}, no error on the console`, said.length === 0, said.join(" "));
  check(`${where}, no dialog`, dialogs.length === 0, dialogs.join(" "));
  check(`${where}, nothing hostile ran`, await tab.evaluate(() => window.pwned === undefined));
  await context.close();
};

// From navigation to first paint and to the load event, in ms. The fastest of three
// tries, since a busy machine is no fault of the page.
const opening = async (browser, page, check) => {
  const tab = await browser.newPage({ viewport: { width: 1280, height: 900 } });
  const best = { paint: Infinity, load: Infinity };
  for (let i = 0; i < 3 && !(best.paint < limitMs && best.load < limitMs); i += 1) {
    await tab.goto(page.url);
    const { paint, load } = await tab.evaluate(() => new Promise((done) => {
      const { loadEventEnd } = performance.getEntriesByType("navigation")[0];
      const end = (paint) => done({ paint, load: loadEventEnd || Infinity });
      new PerformanceObserver((list) => {
        list.getEntriesByName("first-paint").forEach((entry) => end(entry.startTime));
      }).observe({ type: "paint", buffered: true });
      setTimeout(() => end(Infinity), 5000);
    }));
    best.paint = Math.min(best.paint, Math.round(paint));
    best.load = Math.min(best.load, Math.round(load));
  }
  await tab.close();
  check("paints in under a second", best.paint < limitMs, `${best.paint} ms`);
  check("loads in under a second", best.load < limitMs, `${best.load} ms`);
  return best;
};

const fits = async (tab, where, check) => {
  const over = await tab.evaluate(() => {
    const root = document.documentElement;
    const reach = [...document.querySelectorAll("body *")].filter((e) =>
      !e.closest("svg, .scroll, pre") && e.getBoundingClientRect().right > root.clientWidth + 1);
    return { px: root.scrollWidth - root.clientWidth, first: reach.slice(0, 2).map((e) => e.outerHTML.slice(0, 80)) };
  });
  check(`${where}, no horizontal scroll`, over.px <= 0, `${over.px} px ${over.first.join(" ")}`);
};

// Every rule once, and again those on which width and theme tell, in the other width
// and theme: axe-core takes longer than all else.
const accessible = async (tab, where, check) => {
  const options = {
    "1280 light": { rules: { "target-size": { enabled: true } } },
    "360 dark": { runOnly: ["color-contrast", "scrollable-region-focusable", "target-size"] },
  }[where];
  if (!options) return;
  await tab.evaluate(axe);
  const found = await tab.evaluate(async (more) => {
    const { violations } = await window.axe.run(document, { resultTypes: ["violations"], ...more });
    return violations.filter((v) => ["serious", "critical"].includes(v.impact))
      .map((v) => `${v.id}: ${v.nodes[0].target} ${v.nodes[0].failureSummary}`);
  }, options);
  check(`${where}, no grave accessibility finding`, found.length === 0, found.join("\n"));
};
