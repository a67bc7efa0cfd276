// Nothing on a page can run but its own script, wherever its words came from.
import { readFileSync } from "node:fs";

// Elements that load, run or send something; none has a place on a page.
const foreign = "iframe, object, embed, base, form, link, img, image, video, audio, foreignObject, animate, set, meta[http-equiv]";

export const harmless = async (tab, plain, script, check) => {
  const found = await tab.evaluate((selector) => {
    const attributes = [...document.querySelectorAll("*")].flatMap((e) => [...e.attributes]);
    const told = (list) => list.map((a) => `${a.name}=${a.value.slice(0, 60)}`);
    return {
      scripts: [...document.querySelectorAll("script")].map((s) => ({ text: s.textContent, bare: !s.attributes.length })),
      handlers: told(attributes.filter((a) => /^on/i.test(a.name))),
      // A browser skips blanks and control characters before and within the scheme.
      running: told(attributes.filter((a) =>
        /^(javascript|vbscript|data):/i.test([...a.value].filter((c) => c > " ").join("")))),
      foreign: [...document.querySelectorAll(selector)].map((e) => e.outerHTML.slice(0, 80)),
      titles: [...document.querySelectorAll("title")].filter((e) => !e.closest("svg")).length,
      title: document.title,
    };
  }, foreign);
  check("at most one script", found.scripts.length <= 1, `${found.scripts.length}`);
  check("its script is within it", found.scripts.every((s) => s.bare), "has attributes");
  if (script) {
    const own = readFileSync(script, "utf8").trim();
    const others = found.scripts.filter((s) => s.text.trim() !== own).map((s) => s.text.trim().slice(0, 60));
    check("no script but its own", others.length === 0, others.join(", "));
  }
  check("no attribute that runs", found.handlers.length === 0, found.handlers.join(", "));
  check("no link that runs", found.running.length === 0, found.running.join(", "));
  check("no foreign element", found.foreign.length === 0, found.foreign.join(", "));
  check("one title", found.titles === 1, `${found.titles}`);
  check("its title stays", found.title === plain.title, `${plain.title} | ${found.title}`);
};
