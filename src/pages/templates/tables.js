// Tables to sort and filter; a page is complete without.
//
// table[data-sortable]: a button in each named header: lowest first, highest first,
// first order. A cell that begins with a number is one: "1 234" (U+202F), "9 of 112",
// "< 5" just below 5. Words come after, empty cells and dashes last, both ways.
// data-key stands for a cell's text: dates in words need it.
// table[data-filterable]: a field above; rows without its words are hidden.
// tr[data-keep] stays last and visible, uncounted.
(() => {
  const plain = (text) => text.replace(/\s+/g, " ").trim();
  const make = (name, more) => Object.assign(document.createElement(name), more);
  const kept = (row) => "keep" in row.dataset;
  const told = make("output", { className: "sort-told" });

  // [rank, key]: ranks ascend both ways.
  const key = (cell) => {
    const text = cell ? plain(cell.dataset.key ?? cell.textContent.replace(/\u202f/g, "")) : "";
    if (/^[-\u2013\u2014]?$/.test(text)) return [2, 0];
    const found = /^([<>]?) ?([-+\u2212]?)(\d+(\.\d+)?)(?=[ %]|$)/.exec(text);
    if (!found) return [1, text.toLowerCase().replace(/\d+/g, (n) => n.padStart(12, "0"))];
    const size = /[-\u2212]/.test(found[2]) ? -found[3] : +found[3];
    return [0, size + { "<": -1e-6, ">": 1e-6, "": 0 }[found[1]]];
  };

  document.querySelectorAll("table[data-sortable]").forEach((table) => {
    const first = [...table.tBodies].map((body) => [...body.rows]);
    const heads = [...(table.tHead?.rows[0]?.cells ?? [])];
    let by = null;
    let way = 0;

    const press = (head, column) => {
      way = by !== head || !way ? 1 : way > 0 ? -1 : 0;
      by = head;
      let numbers = false;
      const held = document.activeElement;
      first.forEach((rows, i) => {
        const keyed = rows.map((row) => [row, way && !kept(row) ? key(row.cells[column]) : [3, 0]]);
        keyed.sort(([, a], [, b]) => a[0] - b[0] || way * ((a[1] > b[1]) - (a[1] < b[1])));
        numbers ||= keyed.some(([, [rank]]) => !rank);
        table.tBodies[i].append(...keyed.map(([row]) => row));
      });
      held?.focus({ preventScroll: true });
      heads.forEach((one) => one.removeAttribute("aria-sort"));
      if (way) head.setAttribute("aria-sort", way > 0 ? "ascending" : "descending");
      const [low, high] = numbers ? ["lowest", "highest"] : ["A", "Z"];
      const name = plain(head.textContent);
      told.textContent = way ? `sorted by ${name}, ${way > 0 ? low : high} first` : "in first order again";
    };

    heads.forEach((head, column) => {
      if (!plain(head.textContent)) return;
      const button = make("button", { className: "sort", type: "button" });
      button.append(...head.childNodes);
      button.addEventListener("click", () => press(head, column));
      head.append(button);
    });
  });

  document.querySelectorAll("table[data-filterable]").forEach((table) => {
    const read = (text) => plain(text).replace(/\u2212/g, "-").toLowerCase();
    const rows = [...table.tBodies].flatMap((body) => [...body.rows]).filter((row) => !kept(row));
    const texts = rows.map((row) => read([...row.cells].map((cell) => cell.textContent).join(" ")));
    const field = make("input", { type: "text", autocomplete: "off", spellcheck: false });
    const left = make("output");
    const show = () => {
      const words = read(field.value).split(" ");
      rows.forEach((row, i) => { row.hidden = !words.every((word) => texts[i].includes(word)); });
      const shown = rows.filter((row) => !row.hidden);
      left.textContent = words[0] && `${shown.length} of ${rows.length} rows`;
    };
    field.addEventListener("input", show);
    field.addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        field.value = "";
        show();
      }
    });
    const label = make("label");
    const box = make("div", { className: "filter" });
    label.append("Show rows that contain ", field);
    box.append(label, left);
    (table.closest(".scroll") ?? table).before(box);
  });

  if (document.querySelector(".sort")) document.body.append(told);
})();
