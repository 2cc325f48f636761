// Moving things on the sheet: pure functions from a sheet and a drag to the sheet as it would be,
// and to the lines of the ticket that say so.

import { cutOffset, toStep } from "./geometry.js";

const SIZE_STEP_MM = 1;
const SHIFT_STEP_MM = 0.5;
const SMALLEST_MM = 10;

/** The sheet as it would be after moving `what` by [dx, dy] mm. */
export function movedSheet(begin, what, [dx, dy]) {
  const p = { ...begin.picture }, crop = { ...begin.crop };
  const right = begin.width_mm - p.left - p.width, bottom = begin.height_mm - p.top - p.height;
  if (what === "crop") {
    const perX = p.width / crop.width, perY = p.height / crop.height;
    crop.left = Math.min(1 - crop.width, Math.max(0, crop.left - dx / perX));
    crop.top = Math.min(1 - crop.height, Math.max(0, crop.top - dy / perY));
  } else if (what === "corner") {
    const shape = p.height / p.width;
    const most = Math.min(begin.width_mm, begin.height_mm / shape);
    const width = Math.min(most, toStep(Math.max(SMALLEST_MM, p.width + dx * 2), SIZE_STEP_MM));
    p.left += (p.width - width) / 2;
    p.top += (p.height - width * shape) / 2;
    p.width = width;
    p.height = width * shape;
  } else {
    const across = what === "picture" || what === "left" || what === "right";
    const down = what === "picture" || what === "top" || what === "bottom";
    if (across) p.left += Math.max(-p.left, Math.min(right, toStep(dx, SHIFT_STEP_MM)));
    if (down) p.top += Math.max(-p.top, Math.min(bottom, toStep(dy, SHIFT_STEP_MM)));
  }
  return { ...begin, picture: p, crop };
}

/** The lines of the ticket that make the sheet so; empty where nothing moved. */
export function wishOf(begin, live, what, sentence) {
  const changes = {};
  if (what === "crop") {
    const { crop } = live;
    if (begin.can_crop[0]) changes["crop.offset-x"] = cutOffset(crop.width, crop.left).toFixed(4);
    if (begin.can_crop[1]) changes["crop.offset-y"] = cutOffset(crop.height, crop.top).toFixed(4);
  } else if (what === "corner") {
    const said = sentence.find((one) => /^print\.(width|height|long-side)$/.test(one.key));
    const key = said?.key ?? "print.width";
    const { width, height } = live.picture;
    const mm = { "print.width": width, "print.height": height }[key] ?? Math.max(width, height);
    changes[key] = `${+mm.toFixed(2)} mm`;
  } else {
    const dx = live.picture.left - begin.picture.left, dy = live.picture.top - begin.picture.top;
    if (dx) changes["border.shift-x"] = `${+(begin.shift_mm[0] + dx).toFixed(2)} mm`;
    if (dy) changes["border.shift-y"] = `${+(begin.shift_mm[1] + dy).toFixed(2)} mm`;
  }
  return changes;
}
