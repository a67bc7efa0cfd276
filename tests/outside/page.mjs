// The pages in a real browser.
// Usage: page.mjs OUT PAGE... [--sheets FILE=N]... [--script FILE] [--hostile]
//
// Screenshots and PDFs go to OUT, named by page. --sheets: FILE prints on exactly N
// sheets, or with ..N on at most N. --script: the only script a page may hold.
// --hostile: the pages were made of data that holds markup with the word "pwned".
import { statSync } from "node:fs";
import { basename, dirname, resolve } from "node:path";
import { chromium } from "playwright-core";
import { colours } from "./page/colours.mjs";
import { harmless } from "./page/harmless.mjs";
import { keyboard } from "./page/keyboard.mjs";
import { links } from "./page/links.mjs";
import { looks } from "./page/looks.mjs";
import { print } from "./page/print.mjs";
import { readUnscripted, unscripted } from "./page/unscripted.mjs";

const bytes = 1_500_000;
const settings = { out: undefined, pages: [], sheets: new Map(), script: undefined, isHostile: false };
const typed = process.argv.slice(2);
while (typed.length) {
  const word = typed.shift();
  if (word === "--hostile") settings.isHostile = true;
  else if (word === "--script") settings.script = typed.shift();
  else if (word === "--sheets") settings.sheets.set(...typed.shift().split("="));
  else if (settings.out === undefined) settings.out = word;
  else settings.pages.push(resolve(word));
}
if (!settings.pages.length) {
  console.error("usage: page.mjs OUT PAGE... [--sheets FILE=N]... [--script FILE] [--hostile]");
  process.exit(2);
}

const wrong = [];
let passed = 0;
const checkOf = (page) => (what, holds, detail = "") => {
  if (holds) passed += 1;
  else wrong.push(`${page}: ${what}: ${detail}`);
};

// A page's name in messages and files: that of its file, after its folder where two share one.
const stem = (path) => basename(path, ".html");
const shared = (path) => settings.pages.filter((other) => stem(other) === stem(path)).length > 1;
const nameOf = (path) => (shared(path) ? `${basename(dirname(path))}-${stem(path)}` : stem(path));

const browser = await chromium.launch({
  executablePath: "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync"],
});
let payloads = 0;
for (const path of settings.pages) {
  const page = { path, url: `file://${path}`, name: nameOf(path), shot: `${settings.out}/${nameOf(path)}` };
  const check = checkOf(page.name);
  const size = statSync(path).size;
  check("is smaller than 1.5 MB", size < bytes, `${size} bytes`);
  const plain = await readUnscripted(browser, page);
  const told = await looks(browser, page, check, async (tab, where) => {
    await unscripted(tab, plain, where, check);
    if (where !== "1280 light") return;
    await links(tab, page, check);
    await harmless(tab, plain, settings.script, check);
    await keyboard(tab, check);
    await colours(tab, page, check);
    await print(tab, page, settings.sheets, check);
  });
  payloads += plain.text.split("pwned").length - 1;
  console.log(`${page.name}: ${size} bytes, first paint after ${told.paint} ms, loaded after ${told.load} ms`);
}
await browser.close();
for (const file of settings.sheets.keys()) {
  const isRead = settings.pages.some((path) => basename(path) === file);
  checkOf(file)("is among the pages", isRead, "its sheets are to be counted");
}
if (settings.isHostile) checkOf("all")("the hostile words are told as text", payloads > 0, "no page holds any");
for (const line of wrong) console.log(line);
console.log(`${passed} passed, ${wrong.length} failed`);
process.exit(wrong.length ? 1 : 0);
