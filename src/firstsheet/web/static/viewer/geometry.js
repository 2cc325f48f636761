// Pure geometry of the table: no DOM, no state. Lengths on the sheet are mm, on screen CSS px.
// Theory and measurements: docs/bench-page.md. Tests: tests/web_browser/test_viewer_geometry.py.

/** Side of a tile's box. */
export const TILE = 512;

/** ID-1 card, ISO/IEC 7810: width in mm. */
export const CARD_WIDTH_MM = 85.6;
export const CARD_HEIGHT_MM = 53.98;

const NEARLY = 1e-6;

/** The level to show at `scale` CSS px per finest pixel: the next finer one, never coarser. */
export function levelFor(scale, ratio, zmax) {
  const level = Math.ceil(zmax + Math.log2(scale * ratio) - NEARLY);
  return Math.max(0, Math.min(zmax, level));
}

/** The nearest scale at which a tile covers a whole number of device pixels. */
export function snapScale(scale, ratio, zmax) {
  const halvings = zmax - levelFor(scale, ratio, zmax);
  const shrink = scale * ratio * 2 ** halvings;
  return (Math.max(1, Math.round(TILE * shrink)) / TILE / ratio) * 2 ** -halvings;
}

/** Put a place on a whole device pixel of the page; `offset` is the host's own place on it. */
export function snapPlace(place, offset, ratio) {
  return Math.round((offset + place) * ratio) / ratio - offset;
}

/** The next place that is whole in CSS px and in device px alike, as near as there is one. */
export function wholePlace(place, ratio) {
  const first = Math.ceil(place - NEARLY);
  for (let whole = first; whole < first + 16; whole += 1) {
    if (Math.abs(whole * ratio - Math.round(whole * ratio)) < 1e-3) return whole;
  }
  return first;
}

/** Tiles of one level that a window of `width` × `height` can see; origin is the level's corner. */
export function tilesSeen({ origin, side, columns, rows, window: [left, top, right, bottom] }) {
  const first = [
    Math.max(0, Math.floor((left - origin[0]) / side)),
    Math.max(0, Math.floor((top - origin[1]) / side)),
  ];
  const last = [
    Math.min(columns - 1, Math.ceil((right - origin[0]) / side) - 1),
    Math.min(rows - 1, Math.ceil((bottom - origin[1]) / side) - 1),
  ];
  const seen = [];
  for (let y = first[1]; y <= last[1]; y += 1) {
    for (let x = first[0]; x <= last[0]; x += 1) seen.push([x, y]);
  }
  return seen;
}

/** Scale and place that show all of `size` in `room` with `margin` around it. */
export function fitIn(size, room, margin) {
  const [left, top, right, bottom] = margin;
  const free = [Math.max(40, room[0] - left - right), Math.max(40, room[1] - top - bottom)];
  const scale = Math.min(free[0] / size[0], free[1] / size[1]);
  return {
    scale,
    x: left + (free[0] - size[0] * scale) / 2,
    y: top + (free[1] - size[1] * scale) / 2,
  };
}

/** Keep at least `least` px of a thing inside the window. */
export function keepInSight(place, size, room, least) {
  return Math.min(room - least, Math.max(least - size, place));
}

/** Where a cut of this share begins, 0..1, for an offset of -1..1. */
export const cutBegin = (share, offset) => ((1 - share) * (1 + offset)) / 2;

/** The offset, -1..1, of a cut that begins there. */
export function cutOffset(share, begin) {
  if (share >= 1 - NEARLY) return 0;
  return Math.max(-1, Math.min(1, (2 * begin) / (1 - share) - 1));
}

/** On-screen mm per real mm at which a print from `distance` seems as large from `away`. */
export const standScale = (awayMm, distanceMm) => awayMm / distanceMm;

/** CSS px per mm from the outline held to a card. */
export const pxPerMm = (cardPx) => cardPx / CARD_WIDTH_MM;

/** A length as the table's lines say it while something is dragged. */
export function mmWords(mm) {
  const rounded = Math.round(mm * 10) / 10;
  return `${rounded} mm`;
}

/** The same with inches. */
export const bothWords = (mm) => `${mmWords(mm)} (${(mm / 25.4).toFixed(1)} in)`;

/** Round to a step of `step` mm. */
export const toStep = (mm, step) => Math.round(mm / step) * step;
