// The page's colours on its paper, and told apart without their hue, as Chromium
// simulates it. Measured on what it paints, so that no matrix of ours is involved.
//
// Contrast is (L1 + 0.05) / (L2 + 0.05) with the relative luminance of WCAG 2.2.
// On paper it must be 4.5 (1.4.3). --mark against --ink: 1.5 is a choice of ours, about
// twelve to twenty steps of CIE lightness here; less than the 3 that WCAG asks where
// colour alone carries a meaning (technique G183), since every sign has a shape or word.
const onPaper = ["--ink", "--mark", "--quiet", "--act"];
const apart = 1.5;
const visions = ["none", "achromatopsia", "deuteranopia", "protanopia", "tritanopia"];

export const colours = async (tab, page, check) => {
  const painted = await tab.context().newPage();
  const simulate = await simulator(painted);
  for (const colorScheme of ["light", "dark"]) {
    await tab.emulateMedia({ colorScheme });
    const named = await tab.evaluate((names) => {
      const style = getComputedStyle(document.documentElement);
      return names.map((name) => style.getPropertyValue(name).trim());
    }, ["--paper", ...onPaper]);
    for (const vision of visions) {
      const [paper, ...others] = await simulate(named, vision);
      const where = `${colorScheme}, ${vision}`;
      others.forEach((colour, i) => {
        const found = contrast(colour, paper);
        check(`${where}, ${onPaper[i]} on paper`, found >= 4.5, found.toFixed(2));
      });
      const found = contrast(others[0], others[1]);
      check(`${where}, --mark against --ink`, found >= apart, found.toFixed(2));
    }
  }
  await painted.close();
  await tab.emulateMedia({ colorScheme: "light" });

  const screen = tab.viewportSize();
  await tab.setViewportSize({ width: screen.width, height: 2400 });
  await tab.evaluate(() => {
    document.querySelectorAll("details").forEach((d) => { d.open = false; });
    document.activeElement?.blur();
    document.querySelector("main figure")?.scrollIntoView();
  });
  const devtools = await tab.context().newCDPSession(tab);
  for (const vision of visions.slice(1)) {
    await devtools.send("Emulation.setEmulatedVisionDeficiency", { type: vision });
    await tab.screenshot({ path: `${page.shot}-${vision}.png` });
  }
  await devtools.detach();
  await tab.setViewportSize(screen);
};

// Paints colours and reads back what is seen of them: [red, green, blue] from 0 to 255.
const simulator = async (tab) => {
  await tab.setViewportSize({ width: 100, height: 20 });
  const devtools = await tab.context().newCDPSession(tab);
  return async (named, vision) => {
    await tab.evaluate((all) => {
      document.body.style.margin = 0;
      document.body.replaceChildren(...all.map((colour, i) => {
        const patch = document.createElement("div");
        patch.style.cssText = `position: absolute; left: ${i * 20}px; width: 20px; height: 20px; background: ${colour}`;
        return patch;
      }));
    }, named);
    await devtools.send("Emulation.setEmulatedVisionDeficiency", { type: vision });
    const picture = (await tab.screenshot()).toString("base64");
    return tab.evaluate(async ([data, n]) => {
      const image = new Image();
      image.src = `data:image/png;base64,${data}`;
      await image.decode();
      const canvas = new OffscreenCanvas(image.width, image.height).getContext("2d");
      canvas.drawImage(image, 0, 0);
      return Array.from({ length: n }, (_, i) => [...canvas.getImageData(i * 20 + 10, 10, 1, 1).data].slice(0, 3));
    }, [picture, named.length]);
  };
};

// WCAG 2.2, "relative luminance"; 0.04045 is the limit of sRGB there.
const luminance = (colour) => {
  const [red, green, blue] = colour.map((c) => c / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
};

const contrast = (a, b) => {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
};
