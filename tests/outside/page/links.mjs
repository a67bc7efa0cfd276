// Links and the ids they lead to: within the page, or to a file beside it.
import { existsSync, readFileSync, statSync } from "node:fs";
import { dirname, resolve } from "node:path";

// Attributes that name ids of the same page.
const naming = ["aria-labelledby", "aria-describedby", "aria-controls", "for", "headers"];

export const links = async (tab, page, check) => {
  const { ids, targets, named } = await tab.evaluate((attributes) => ({
    ids: [...document.querySelectorAll("[id]")].map((e) => e.id),
    targets: [...document.querySelectorAll("a[href], a[*|href]")]
      .map((a) => a.getAttribute("href") ?? a.getAttribute("xlink:href")),
    named: attributes.flatMap((name) => [...document.querySelectorAll(`[${name}]`)]
      .flatMap((e) => e.getAttribute(name).split(/\s+/))),
  }), naming);
  const twice = ids.filter((id, i) => ids.indexOf(id) !== i);
  check("no id stands twice", twice.length === 0, twice.join(" "));
  const nameless = named.filter((id) => !ids.includes(id));
  check("every name refers to something", nameless.length === 0, nameless.join(" "));

  const idsOf = new Map([[page.path, new Set(ids)]]);
  const dead = [];
  for (const target of new Set(targets)) {
    const why = await fault(tab, page.path, target, idsOf);
    if (why) dead.push(`${target} (${why})`);
  }
  check("every link resolves", dead.length === 0, dead.join(", "));
};

// Why a link leads nowhere; nothing if it resolves.
const fault = async (tab, from, target, idsOf) => {
  if (/^[a-z][a-z0-9+.-]*:|^\//i.test(target)) return "leads away";
  const [file, id] = target.split("#").map(decodeURIComponent);
  const path = file ? resolve(dirname(from), file) : from;
  if (!existsSync(path) || !statSync(path).isFile()) return "no such file";
  if (!id) return id === "" ? "no place named" : undefined;
  if (!idsOf.has(path)) {
    const found = await tab.evaluate((text) =>
      [...new DOMParser().parseFromString(text, "text/html").querySelectorAll("[id]")].map((e) => e.id),
    readFileSync(path, "utf8"));
    idsOf.set(path, new Set(found));
  }
  return idsOf.get(path).has(id) ? undefined : "no such id";
};
