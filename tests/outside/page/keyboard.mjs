// Tables sorted and filtered from the keyboard.

// Puts the focus on what comes before `element` in the order of Tab, and presses Tab.
const tabTo = async (tab, element) => {
  await element.evaluate((e) => {
    const stops = [...document.querySelectorAll("a[href], button, input, summary, [tabindex='0']")]
      .filter((stop) => stop.checkVisibility());
    const at = stops.indexOf(e);
    if (at > 0) stops[at - 1].focus();
    else document.activeElement?.blur();
  });
  await tab.keyboard.press("Tab");
  return element.evaluate((e) => e === document.activeElement);
};

const rowsOf = (table) => table.evaluate((t) =>
  [...t.tBodies[0].rows].map((row) => { row.dataset.at ??= row.sectionRowIndex; return Number(row.dataset.at); }));

export const keyboard = async (tab, check) => {
  for (const table of await tab.$$("table[data-sortable]")) await sorts(tab, table, check);
  for (const table of await tab.$$("table[data-filterable]")) await filters(tab, table, check);
};

const nameOf = (table) => table.evaluate((t) =>
  t.caption?.textContent.trim().slice(0, 40) ?? t.closest("[aria-label]")?.getAttribute("aria-label") ?? t.id);

const sorts = async (tab, table, check) => {
  const name = await nameOf(table);
  const heads = await table.$$("thead th");
  const buttons = await table.$$("thead th > button");
  const named = await table.evaluate((t) => [...t.tHead.rows[0].cells].filter((th) => th.textContent.trim()).length);
  check(`${name}: a button in each named header`, buttons.length === named && named > 0, `${buttons.length} of ${named}`);
  if (!buttons.length) return;

  const first = await rowsOf(table);
  for (const button of buttons) {
    const [column, word] = await button.evaluate((b) => [b.parentElement.cellIndex, b.textContent.trim()]);
    const isFirst = button === buttons[0];
    const what = `${name}, ${word}`;
    if (isFirst) check(`${what}: Tab leads there`, await tabTo(tab, button));
    await press(tab, button, isFirst ? "Enter" : "script");
    await isSorted(table, heads[column], column, 1, what, check);
    if (isFirst) {
      const told = await tab.evaluate(() => document.querySelector(".sort-told").textContent);
      const isTold = [`sorted by ${word}, lowest first`, `sorted by ${word}, A first`].includes(told);
      check(`${what}: is told to a screen reader`, isTold, told);
      check(`${what}: the focus stays`, await button.evaluate((b) => b === document.activeElement));
    }
    await press(tab, button, isFirst ? "Space" : "script");
    await isSorted(table, heads[column], column, -1, what, check);
    await press(tab, button, isFirst ? "click" : "script");
    const last = await rowsOf(table);
    check(`${what}: the third press restores`, last.join() === first.join(), last.join(" "));
    const sorted = await table.$$eval("thead th[aria-sort]", (all) => all.length);
    check(`${what}: restored, none is called sorted`, sorted === 0, `${sorted}`);
  }
};

const press = (tab, button, how) => {
  if (how === "script") return button.evaluate((b) => b.click());
  return how === "click" ? button.click() : tab.keyboard.press(how);
};

const isSorted = async (table, head, column, way, what, check) => {
  const said = await head.getAttribute("aria-sort");
  check(`${what}: aria-sort is set`, said === (way > 0 ? "ascending" : "descending"), `${said}`);
  const marked = await table.$$eval("thead th[aria-sort]", (all) => all.length);
  check(`${what}: one column is called sorted`, marked === 1, `${marked}`);
  const { moving, keptLast } = await table.evaluate((t, at) => {
    const rows = [...t.tBodies[0].rows];
    const kept = rows.map((row) => row.hasAttribute("data-keep"));
    return {
      moving: rows.filter((_, i) => !kept[i]).map((row) => {
        const cell = row.cells[at];
        return cell ? cell.dataset.key ?? cell.textContent.trim() : "";
      }),
      keptLast: !kept.includes(true) || kept.lastIndexOf(false) < kept.indexOf(true),
    };
  }, column);
  check(`${what}: rows to keep are last`, keptLast);
  const pair = moving.slice(1).findIndex((text, i) => isBefore(text, moving[i], way));
  check(`${what}: is sorted`, pair < 0, `${moving[pair]} | ${moving[pair + 1]}`);
};

// Whether `a` must stand before `b`: read apart from the page's own script.
const isBefore = (a, b, way) => {
  const [x, y] = [a, b].map(read);
  if (x.kind !== y.kind) return x.kind < y.kind;
  if (x.kind === 2) return false;
  if (x.kind === 0) return way > 0 ? x.number < y.number : x.number > y.number;
  const compared = compareWords(a, b);
  return way > 0 ? compared < 0 : compared > 0;
};

// Runs of digits by their number, all else by code point, capitals like small letters.
const compareWords = (a, b) => {
  const [x, y] = [a, b].map((text) => text.replace(/\s+/g, " ").toLowerCase().match(/\d+|\D/g) ?? []);
  for (let i = 0; i < Math.min(x.length, y.length); i += 1) {
    const areNumbers = /\d/.test(x[i]) && /\d/.test(y[i]);
    const by = areNumbers ? x[i] - y[i] : x[i].codePointAt(0) - y[i].codePointAt(0);
    if (by) return by;
  }
  return x.length - y.length;
};

// 0 a number, 1 words, 2 nothing.
const read = (text) => {
  if (["", "-", "\u2013", "\u2014"].includes(text)) return { kind: 2 };
  const [word] = text.replaceAll("\u202f", "").replaceAll("\u2212", "-").replace(/^[<>]\s*/, "").split(/[\s%]/);
  return word !== "" && Number.isFinite(Number(word)) ? { kind: 0, number: Number(word) } : { kind: 1 };
};

const filters = async (tab, table, check) => {
  const name = await nameOf(table);
  const box = await table.evaluateHandle((t) => (t.closest(".scroll") ?? t).previousElementSibling);
  const field = await box.$("label input");
  check(`${name}: has a labelled field`, Boolean(field) && /Show rows that contain/.test(await box.textContent()));
  if (!field) return;
  check(`${name}: Tab leads to the field`, await tabTo(tab, field));
  // Words of the last row, so that some row is left, and few.
  const words = await table.evaluate((t) => {
    const rows = [...t.tBodies[0].rows].filter((row) => !row.hasAttribute("data-keep"));
    return rows.at(-1).cells[0].textContent.trim();
  });
  const shown = () => table.evaluate((t) => {
    const rows = [...t.tBodies[0].rows].filter((row) => !row.hasAttribute("data-keep"));
    const visible = rows.filter((row) => row.checkVisibility());
    return { all: rows.length, texts: visible.map((row) => row.innerText.toLowerCase()) };
  });
  const whole = await shown();
  await tab.keyboard.type(words);
  const some = await shown();
  const parts = words.toLowerCase().split(/\s+/);
  const isMeant = (text) => parts.every((part) => text.includes(part));
  check(`${name}: rows with the words are left`, some.texts.length > 0 && some.texts.every(isMeant), words);
  check(`${name}: all of them`, some.texts.length === whole.texts.filter(isMeant).length, `${some.texts.length}`);
  const told = await box.$eval("output", (e) => e.textContent);
  check(`${name}: says how many`, told === `${some.texts.length} of ${whole.all} rows`, told);
  await tab.keyboard.type(' <img src=x onerror="pwned=1">');
  check(`${name}: words of no row leave none`, (await shown()).texts.length === 0);
  await tab.keyboard.press("Escape");
  check(`${name}: Escape restores`, (await shown()).texts.length === whole.all);
  check(`${name}: Escape clears`, (await field.inputValue()) === "" && (await box.$eval("output", (e) => e.textContent)) === "");
  check(`${name}: the focus stays in the field`, await field.evaluate((e) => e === document.activeElement));
};
