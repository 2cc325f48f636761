// Runs before anything is drawn, so that the page never flashes: light or dark, and the table's
// lightness. Holds the only code that turns the table's grey into readable inks.
(() => {
  const linear = (v) => (v <= 10 ? v / 3294 : ((v / 255 + 0.055) / 1.055) ** 2.4);
  const contrast = (a, b) => {
    const [x, y] = [linear(a) + 0.05, linear(b) + 0.05];
    return Math.max(x, y) / Math.min(x, y);
  };
  const grey = (v) => `rgb(${v},${v},${v})`;
  /** The quietest grey that still reads on `table`, coming from the strong ink. */
  const quiet = (table, ink, wanted) => {
    const step = ink < table ? 1 : -1;
    let v = ink;
    while (Math.abs(v + step - table) > 1 && contrast(v + step, table) >= wanted) v += step;
    return v;
  };
  const read = (key) => {
    try { return localStorage.getItem(key); } catch { return null; }
  };
  const light = {
    DEFAULT: { light: 196, dark: 52 },
    darkWished: () => {
      const chosen = read("appearance");
      if (chosen === "light" || chosen === "dark") return chosen === "dark";
      return false;
    },
    table: () => {
      const look = light.darkWished() ? "dark" : "light";
      const kept = Number(read(`table-${look}`) ?? NaN);
      return kept >= 16 && kept <= 240 ? Math.round(kept) : light.DEFAULT[look];
    },
    keep(key, value) {
      try { localStorage.setItem(key, value); } catch { /* private windows keep nothing */ }
      light.apply();
    },
    apply() {
      const dark = light.darkWished(), table = light.table();
      const root = document.documentElement;
      const ink = contrast(0, table) >= contrast(255, table) ? 0 : 255;
      root.dataset.look = dark ? "dark" : "light";
      root.style.colorScheme = dark ? "dark" : "light";
      const soft = contrast(ink, table) > 9 ? quiet(table, ink, 8.5) : ink;
      root.style.setProperty("--table", grey(table));
      root.style.setProperty("--ink", grey(soft));
      root.style.setProperty("--quiet", grey(quiet(table, ink, 5)));
      root.style.setProperty("--line", grey(quiet(table, ink, 3.1)));
      root.style.setProperty("--hair", grey(quiet(table, ink, 1.45)));
      root.style.setProperty("--against", grey(255 - ink));
      root.dataset.ink = ink ? "pale" : "deep";
      dispatchEvent(new Event("light"));
    },
  };
  window.firstsheetLight = light;
  light.apply();
})();
