// A page without script: nothing is missing, and no control is there that would do nothing.

// All that a reader can see of the main part, details opened, blanks aside.
const readText = () => {
  document.querySelectorAll("details").forEach((d) => { d.open = true; });
  return document.querySelector("main").innerText.replace(/\s+/g, "");
};

// Reads the page with JavaScript off, for what comes after to compare with.
export const readUnscripted = async (browser, page) => {
  const context = await browser.newContext({ javaScriptEnabled: false, viewport: { width: 1280, height: 900 } });
  const tab = await context.newPage();
  await tab.goto(page.url);
  const plain = {
    title: await tab.title(),
    text: await tab.evaluate(readText),
    controls: await tab.evaluate(() => document.querySelectorAll("button, input, select, textarea").length),
    empty: await tab.evaluate(() => [...document.querySelectorAll("table")]
      .filter((t) => ![...t.querySelectorAll("tbody td")].some((cell) => cell.textContent.trim()))
      .map((t) => t.caption?.textContent.trim() ?? t.outerHTML.slice(0, 80))),
    tables: new Map(),
  };
  for (const width of [1280, 360]) {
    await tab.setViewportSize({ width, height: 900 });
    plain.tables.set(width, await tab.evaluate(readWidths));
  }
  await context.close();
  return plain;
};

const readWidths = () => [...document.querySelectorAll("table")].map((t) => t.getBoundingClientRect().width);

// Compares a tab of the same page, in which scripts run, with what was read without.
export const unscripted = async (tab, plain, where, check) => {
  const width = tab.viewportSize().width;
  const widths = await tab.evaluate(readWidths);
  const wider = widths.map((w, i) => w - plain.tables.get(width)[i]).filter((more) => more > 0.5);
  check(`${where}, no table is wider for its controls`, wider.length === 0, `${wider.join(" ")} px`);
  const small = await tab.evaluate(() => [...document.querySelectorAll("main button, main input, summary")]
    .map((e) => [e.textContent || e.tagName, e.getBoundingClientRect()])
    .filter(([, box]) => box.width < 24 || box.height < 24)
    .map(([name, box]) => `${name} ${box.width} x ${box.height}`));
  check(`${where}, every control is at least 24 x 24`, small.length === 0, small.join(", "));
  if (where !== "1280 light") return;
  check("has text without script", plain.text.length > 0);
  check("no control without script", plain.controls === 0, `${plain.controls}`);
  check("no empty table", plain.empty.length === 0, plain.empty.join(", "));
  await tab.addStyleTag({ content: ".filter { display: none !important; }" })
    .then(async (style) => {
      const text = await tab.evaluate(readText);
      let i = 0;
      while (i < text.length && text[i] === plain.text[i]) i += 1;
      check("reads the same without script", text === plain.text, `${plain.text.slice(i, i + 60)} | ${text.slice(i, i + 60)}`);
      await style.evaluate((e) => e.remove());
    });
};
