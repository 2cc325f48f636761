// What is drawn over the sheet: dimension lines as on a framer's drawing, the unprintable edge,
// handles and the reading cross. Nodes are made once and moved.

import { put, s } from "../dom.js";

const ARM = 30; // px from the sheet to its dimension line
const REST = 5; // px between sheet and extension line
const OVER = 5; // px an extension line runs over

/** One dimension line with its two ends and its words. */
class Measure {
  constructor(parent, name) {
    this.lines = s("path", { class: "measure" });
    this.ends = s("path", { class: "measure ends" });
    this.words = s("text", { class: "measure-words" });
    this.node = s("g", { "data-measure": name, "aria-hidden": "true" }, this.lines, this.ends, this.words);
    parent.append(this.node);
  }

  /** Along x from `a` to `b` at height `y`; extension lines come from `from`. */
  across(a, b, y, from, text) {
    this.put([[a, y], [b, y]], [[a, from, a, y], [b, from, b, y]], text, 0);
  }

  /** Along y from `a` to `b` at `x`. */
  down(a, b, x, from, text) {
    this.put([[x, a], [x, b]], [[from, a, x, a], [from, b, x, b]], text, -90);
  }

  put([[x1, y1], [x2, y2]], extensions, text, turn) {
    const [px, py] = [Math.round(x1) + 0.5, Math.round(y1) + 0.5];
    const [qx, qy] = [Math.round(x2) + 0.5, Math.round(y2) + 0.5];
    put(this.words, text);
    const middle = [(px + qx) / 2, (py + qy) / 2];
    const length = Math.hypot(qx - px, qy - py);
    // The line breaks for its words, as a draughtsman leaves them room.
    const half = text.length * 3.55 + 8;
    const roomy = length > half * 2 + 24;
    let d = "";
    if (roomy) {
      d = turn ? `M${px} ${py}V${middle[1] - half}M${px} ${middle[1] + half}V${qy}`
        : `M${px} ${py}H${middle[0] - half}M${middle[0] + half} ${py}H${qx}`;
    } else d = `M${px} ${py}L${qx} ${qy}`;
    for (const [ax, ay, bx, by] of extensions) {
      if (Math.hypot(bx - ax, by - ay) < REST) continue;
      const sx = Math.sign(bx - ax), sy = Math.sign(by - ay);
      const [cx, cy] = [Math.round(ax) + 0.5 + sx * REST, Math.round(ay) + 0.5 + sy * REST];
      d += `M${cx} ${cy}L${Math.round(bx) + 0.5 + sx * OVER} ${Math.round(by) + 0.5 + sy * OVER}`;
    }
    this.lines.setAttribute("d", d);
    const tick = 4;
    this.ends.setAttribute("d", [[px, py], [qx, qy]]
      .map(([x, y]) => `M${x - tick} ${y + tick}L${x + tick} ${y - tick}`).join(""));
    const lift = roomy ? 0 : -9;
    const [tx, ty] = turn ? [middle[0] + lift, middle[1]] : [middle[0], middle[1] + lift];
    this.words.setAttribute("transform", `translate(${tx} ${ty}) rotate(${turn})`);
  }

  show(there) { this.node.style.display = there ? "" : "none"; }
}

const HANDLES = ["top", "right", "bottom", "left", "corner"];

export class Overlay {
  constructor(host, words) {
    this.hatch = `hatch-${Math.random().toString(36).slice(2)}`;
    this.svg = s("svg", { class: "overlay" },
      s("defs", {}, s("pattern", {
        id: this.hatch, width: 7, height: 7, patternUnits: "userSpaceOnUse",
        patternTransform: "rotate(45)",
      }, s("path", { d: "M0 0V7", class: "hatch" }))));
    this.edge = s("path", { class: "unprintable", "fill-rule": "evenodd", fill: `url(#${this.hatch})` });
    this.inner = s("path", { class: "printable-line" });
    this.svg.append(this.edge, this.inner);
    this.measures = Object.fromEntries([
      "sheet-width", "sheet-height", "width", "height", "top", "right", "bottom", "left",
    ].map((name) => [name, new Measure(this.svg, name)]));
    this.cross = s("path", { class: "cross" });
    this.svg.append(this.cross);
    this.handles = Object.fromEntries(HANDLES.map((name) => [name, this.handle(name, words)]));
    this.dividing = s("g", {
      class: "divider", "data-handle": "divider", tabindex: "0", role: "slider",
      "aria-label": words.divider, "aria-valuemin": 0, "aria-valuemax": 100,
    }, s("path", {}), s("rect", { width: 22, height: 44, rx: 11 }), s("path", { class: "grip" }),
    s("text", { y: 22, "text-anchor": "end" }, words.notSharpened), s("text", { y: 22 }, words.sharpened));
    this.svg.append(this.dividing);
    host.append(this.svg);
  }

  handle(name, words) {
    const label = {
      top: words.upper, right: words.right, bottom: words.lower, left: words.left,
      corner: words.corner,
    }[name];
    const node = s("g", {
      class: "handle", "data-handle": name, tabindex: "0", role: "slider", "aria-label": label,
      "aria-orientation": name === "top" || name === "bottom" ? "vertical" : "horizontal",
    }, s("rect", { class: "reach", width: 32, height: 32 }), s("rect", { class: "knob" }));
    const knob = node.lastChild;
    const size = { top: [26, 6], bottom: [26, 6], left: [6, 26], right: [6, 26], corner: [12, 12] }[name];
    for (const [key, value] of Object.entries({
      width: size[0], height: size[1], x: 16 - size[0] / 2, y: 16 - size[1] / 2,
      rx: name === "corner" ? 2 : 3,
    })) knob.setAttribute(key, value);
    this.svg.append(node);
    return node;
  }

  /**
   * Draw for a sheet box and a picture box in px, margins in px, texts, and what is to be shown.
   */
  draw({ sheet, picture, edge, texts, show, cross, divider, values }) {
    const [x, y, w, hh] = sheet;
    const [px, py, pw, ph] = picture;
    const [mt, mr, mb, ml] = edge;
    this.edge.style.display = show.edge ? "" : "none";
    this.inner.style.display = show.edge ? "" : "none";
    const within = `M${x + ml} ${y + mt}H${x + w - mr}V${y + hh - mb}H${x + ml}Z`;
    this.edge.setAttribute("d", `M${x} ${y}h${w}v${hh}h${-w}Z${within}`);
    this.inner.setAttribute("d", within);
    const m = this.measures;
    for (const name of ["sheet-width", "sheet-height", "width", "height"]) m[name].show(show.measures);
    if (show.measures) {
      m["sheet-width"].across(x, x + w, y + hh + ARM, y + hh, texts.sheetWidth);
      m["sheet-height"].down(y, y + hh, x + w + ARM, x + w, texts.sheetHeight);
      m.width.across(px, px + pw, y - ARM, y, texts.width);
      m.height.down(py, py + ph, x - ARM, x, texts.height);
    }
    const cx = px + pw * 0.5, cy = py + ph * 0.5;
    const gaps = { top: py - y, right: x + w - px - pw, bottom: y + hh - py - ph, left: px - x };
    for (const [name, gap] of Object.entries(gaps)) {
      const across = name === "left" || name === "right";
      m[name].show(show.borders && gap > (across ? 17 : 20));
    }
    if (show.borders) {
      this.inBorder(m.top, cx, y, cx, py, texts.top);
      this.inBorder(m.bottom, cx, py + ph, cx, y + hh, texts.bottom);
      this.inBorder(m.left, x, cy, px, cy, texts.left);
      this.inBorder(m.right, px + pw, cy, x + w, cy, texts.right);
    }
    const at = {
      top: [cx + 62, py], bottom: [cx + 62, py + ph], left: [px, cy + 62], right: [px + pw, cy + 62],
      corner: [px + pw, py + ph],
    };
    for (const [name, node] of Object.entries(this.handles)) {
      node.style.display = show.handles ? "" : "none";
      node.setAttribute("transform", `translate(${at[name][0] - 16} ${at[name][1] - 16})`);
      node.setAttribute("aria-valuetext", values[name]);
      node.setAttribute("aria-valuenow", parseFloat(values[name]) || 0);
    }
    this.cross.style.display = cross ? "" : "none";
    if (cross) {
      const [a, b] = cross;
      this.cross.setAttribute("d",
        `M${a - 11} ${b}H${a - 4}M${a + 4} ${b}H${a + 11}M${a} ${b - 11}V${b - 4}M${a} ${b + 4}V${b + 11}`);
    }
    this.dividing.style.display = divider ? "" : "none";
    if (divider) {
      const [at2, top, bottom, share] = divider;
      const middle = (top + bottom) / 2;
      this.dividing.children[0].setAttribute("d", `M${at2} ${top}V${bottom}`);
      this.dividing.children[1].setAttribute("x", at2 - 11);
      this.dividing.children[1].setAttribute("y", middle - 22);
      this.dividing.children[2].setAttribute("d",
        `M${at2 - 3} ${middle - 7}v14M${at2 + 3} ${middle - 7}v14`);
      this.dividing.children[3].setAttribute("x", at2 - 10);
      this.dividing.children[4].setAttribute("x", at2 + 10);
      this.dividing.setAttribute("aria-valuenow", Math.round(share * 100));
    }
  }

  /** A short measure inside the bare paper, words beside the line. */
  inBorder(measure, x1, y1, x2, y2, text) {
    put(measure.words, text);
    const tick = 3;
    measure.lines.setAttribute("d", `M${x1} ${y1}L${x2} ${y2}`);
    measure.ends.setAttribute("d", [[x1, y1], [x2, y2]]
      .map(([x, y]) => `M${x - tick} ${y + tick}L${x + tick} ${y - tick}`).join(""));
    const upright = x1 === x2;
    const tight = !upright && Math.abs(x2 - x1) < text.length * 6.4 + 14;
    const half = 8 + text.length * 3.2;
    const [tx, ty] = upright ? [x1 + half, (y1 + y2) / 2] : [(x1 + x2) / 2, y1 - (tight ? half : 9)];
    measure.words.setAttribute("transform", `translate(${tx} ${ty}) rotate(${tight ? -90 : 0})`);
    measure.node.setAttribute("class", "on-paper");
  }
}
