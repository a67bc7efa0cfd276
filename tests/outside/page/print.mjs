// A page on paper: its sheets, nothing cut off, no controls.
import { execFileSync } from "node:child_process";
import { basename } from "node:path";

// What fits between margins of 16 mm on A4, in CSS pixels.
const within = 672;

export const print = async (tab, page, sheets, check) => {
  const screen = tab.viewportSize();
  await tab.emulateMedia({ media: "print" });
  await tab.setViewportSize({ width: within, height: 1000 });
  const { cut, controls } = await tab.evaluate(() => ({
    cut: [document.documentElement, ...document.querySelectorAll("main *, footer *")]
      .filter((e) => e.checkVisibility() && !e.closest("svg") && e.clientWidth && e.scrollWidth > e.clientWidth + 1)
      .filter((e) => getComputedStyle(e).overflowX !== "visible" || e === document.documentElement)
      .map((e) => `${e.getAttribute("aria-label") ?? e.tagName} by ${e.scrollWidth - e.clientWidth} px`),
    controls: [...document.querySelectorAll("input, .filter label")].filter((e) => e.checkVisibility()).length,
  }));
  check("print cuts nothing off", cut.length === 0, cut.join(", "));
  check("print shows no control", controls === 0, `${controls}`);
  const pdf = `${page.shot}.pdf`;
  await tab.pdf({ path: pdf, format: "A4", preferCSSPageSize: true });
  await tab.emulateMedia({ media: "screen" });
  await tab.setViewportSize(screen);

  const told = execFileSync("pdfinfo", [pdf], { encoding: "utf8" });
  const count = Number(/^Pages:\s+(\d+)/m.exec(told)[1]);
  check("prints on A4", /^Page size:.*\(A4\)/m.test(told), told);
  console.log(`${page.name}: ${count} sheets`);
  const wanted = sheets.get(basename(page.path));
  if (wanted === undefined) return;
  const holds = wanted.startsWith("..") ? count <= Number(wanted.slice(2)) : count === Number(wanted);
  check(`prints on ${wanted} sheets`, holds, `${count}`);
};
