// How large a millimetre is on this screen: an outline is held to a bank card.

import { dialog } from "./dialog.js";
import { h, put } from "./dom.js";
import { CARD_HEIGHT_MM, CARD_WIDTH_MM, pxPerMm } from "./viewer/geometry.js";
import { words } from "./words.js";

const say = words.screen;

/** Ask; `kept({px_per_mm, away_mm})` hears the answer. */
export function askScreen(screen, kept) {
  const begin = (screen.px_per_mm || 3.78) * CARD_WIDTH_MM;
  const card = h("div.card-outline", { role: "img", "aria-label": say.outline });
  const size = h("input.slide", {
    type: "range", min: "180", max: "760", step: "0.5", value: String(begin), "aria-label": say.size,
    oninput: () => draw(),
  });
  const away = h("input", {
    type: "text", inputmode: "decimal", value: `${Math.round((screen.away_mm || 600) / 10)}`,
    "aria-label": say.awayTitle, size: "4",
  });
  const number = h("output.figures", {});
  const draw = () => {
    const width = Number(size.value);
    card.style.width = `${width}px`;
    card.style.height = `${(width * CARD_HEIGHT_MM) / CARD_WIDTH_MM}px`;
    put(number, `${(pxPerMm(width) * 25.4).toFixed(1)} px/in`);
  };
  const box = dialog(say.title, [
    h("p", {}, say.words),
    h("div.card-room", {}, card),
    h("div.line", {}, size, number),
    h("label.line", {}, `${say.away} `, away, " cm"),
    h("p.small", {}, say.why),
  ], {
    text: say.keep,
    run: () => {
      const cm = parseFloat(away.value.replace(",", "."));
      kept({
        px_per_mm: pxPerMm(Number(size.value)),
        away_mm: cm >= 10 && cm <= 1000 ? cm * 10 : 600,
      });
    },
  });
  draw();
  size.focus();
  return box;
}
