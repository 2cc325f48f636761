// Two drawings of what a paper can show, with a picture's own colours as dots: a body that turns,
// and a flat one seen from above. Own canvas code; colours are CSS lab(), so the browser shows
// them as it shows everything else. Geometry only: all colours come from the server.

import { h, mark, put } from "./dom.js";
import { words } from "./words.js";

const say = words.stocks;
const REACH = 110; // a*, b* at the edge of the drawing
const css = ([l, a, b]) => `lab(${l.toFixed(1)} ${a.toFixed(1)} ${b.toFixed(1)})`;
const calmWished = () => matchMedia("(prefers-reduced-motion: reduce)").matches;

export class GamutPlots {
  constructor() {
    this.turnAngle = 0.7;
    this.turning = !calmWished();
    this.body = h("canvas.plot", { tabindex: "0", role: "img", "aria-label": say.turning });
    this.flat = h("canvas.plot", { role: "img", "aria-label": say.flat });
    this.turnButton = h("button.plain", { type: "button", onclick: () => this.setTurning(!this.turning) });
    this.node = h("div.plots", {},
      h("figure", {}, this.body, h("figcaption", {}, h("span", {}, say.turning), " ", this.turnButton)),
      h("figure", {}, this.flat, h("figcaption", {}, say.flat)));
    this.body.addEventListener("pointerdown", (event) => {
      this.body.setPointerCapture(event.pointerId);
      this.setTurning(false);
      this.from = event.clientX;
    });
    this.body.addEventListener("pointermove", (event) => {
      if (!this.body.hasPointerCapture(event.pointerId)) return;
      this.turnAngle += (event.clientX - this.from) / 120;
      this.from = event.clientX;
      this.drawBody();
    });
    this.body.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -0.15, ArrowRight: 0.15 }[event.key];
      if (!step) return;
      event.preventDefault();
      this.setTurning(false);
      this.turnAngle += step;
      this.drawBody();
    });
    addEventListener("light", () => { this.drawBody(); this.drawFlat(); });
    new ResizeObserver(() => { this.drawBody(); this.drawFlat(); }).observe(this.node);
    this.setTurning(this.turning);
  }

  setTurning(on) {
    this.turning = on;
    put(this.turnButton, on ? say.rest : say.turn);
    mark(this.turnButton, { "aria-pressed": String(on) });
    if (on) this.spin();
  }

  spin() {
    cancelAnimationFrame(this.frame);
    let last = performance.now();
    const step = (now) => {
      if (!this.turning || !this.node.isConnected) return;
      if (now - last > 40) {
        this.turnAngle += (now - last) / 4200;
        last = now;
        this.drawBody();
      }
      this.frame = requestAnimationFrame(step);
    };
    this.frame = requestAnimationFrame(step);
  }

  show(data) {
    this.data = data;
    const points = data.paper.points;
    this.faces = data.paper.triangles.map((face) => {
      const corners = face.map((n) => points[n]);
      const middle = [0, 1, 2].map((axis) => corners.reduce((sum, one) => sum + one[axis], 0) / 3);
      return { corners, middle, colour: css(middle) };
    });
    this.dots = (data.picture?.points ?? []).map((one) => ({ at: one, colour: css(one) }));
    this.drawBody();
    this.drawFlat();
    if (this.turning) this.spin();
  }

  /** A canvas fitted to its box; gives its context in CSS px. */
  begin(canvas) {
    const width = canvas.clientWidth, height = canvas.clientHeight, ratio = devicePixelRatio;
    if (!width) return null;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    const pen = canvas.getContext("2d");
    pen.setTransform(ratio, 0, 0, ratio, 0, 0);
    pen.clearRect(0, 0, width, height);
    return { pen, width, height, ink: getComputedStyle(canvas).color };
  }

  drawBody() {
    if (!this.faces) return;
    const room = this.begin(this.body);
    if (!room) return;
    const { pen, width, height, ink } = room;
    const unit = Math.min(width / 2 / REACH, height / 128);
    const [sin, cos] = [Math.sin(this.turnAngle), Math.cos(this.turnAngle)];
    const tilt = 0.32;
    const put3 = ([l, a, b]) => {
      const x = a * cos - b * sin, depth = a * sin + b * cos;
      return [width / 2 + x * unit, height / 2 - (l - 50) * unit * 0.95 + depth * unit * tilt, depth];
    };
    // Ground ring and the axis of greys.
    pen.strokeStyle = ink;
    pen.globalAlpha = 0.35;
    pen.lineWidth = 1;
    for (const chroma of [40, 80]) {
      pen.beginPath();
      for (let n = 0; n <= 72; n += 1) {
        const [x, y] = put3([0, chroma * Math.cos((n * Math.PI) / 36), chroma * Math.sin((n * Math.PI) / 36)]);
        if (n) pen.lineTo(x, y); else pen.moveTo(x, y);
      }
      pen.stroke();
    }
    const things = [
      ...this.faces.map((face) => {
        const corners = face.corners.map(put3);
        return { depth: corners.reduce((sum, one) => sum + one[2], 0) / 3 + 0.01, corners, colour: face.colour };
      }),
      ...this.dots.map((dot) => {
        const at = put3(dot.at);
        return { depth: at[2], at, colour: dot.colour };
      }),
    ].sort((a, b) => a.depth - b.depth);
    for (const one of things) {
      pen.fillStyle = one.colour;
      if (one.at) {
        pen.globalAlpha = 0.95;
        pen.beginPath();
        pen.arc(one.at[0], one.at[1], 1.5, 0, 7);
        pen.fill();
        continue;
      }
      pen.globalAlpha = this.dots.length ? 0.3 : 0.5;
      pen.beginPath();
      one.corners.forEach(([x, y], n) => (n ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      pen.closePath();
      pen.fill();
      pen.globalAlpha = 0.15;
      pen.strokeStyle = one.colour;
      pen.stroke();
    }
    pen.globalAlpha = 1;
    pen.strokeStyle = pen.fillStyle = ink;
    const top = put3([100, 0, 0]), bottom = put3([0, 0, 0]);
    pen.globalAlpha = 0.6;
    pen.beginPath();
    pen.moveTo(bottom[0], bottom[1]);
    pen.lineTo(top[0], top[1]);
    pen.stroke();
    pen.globalAlpha = 1;
    pen.font = "12px sans-serif";
    pen.fillText("L* 100", top[0] + 6, top[1] + 4);
    for (const [text, at] of [["+a*", [0, 96, 0]], ["+b*", [0, 0, 96]]]) {
      const [x, y] = put3(at);
      pen.fillText(text, x - 8, y);
    }
  }

  drawFlat() {
    if (!this.faces) return;
    const room = this.begin(this.flat);
    if (!room) return;
    const { pen, width, height, ink } = room;
    const unit = Math.min(width, height) / 2 / REACH;
    const put2 = ([, a, b]) => [width / 2 + a * unit, height / 2 - b * unit];
    pen.strokeStyle = pen.fillStyle = ink;
    pen.globalAlpha = 0.35;
    pen.lineWidth = 1;
    pen.beginPath();
    pen.moveTo(width / 2 - REACH * unit, height / 2);
    pen.lineTo(width / 2 + REACH * unit, height / 2);
    pen.moveTo(width / 2, height / 2 - REACH * unit);
    pen.lineTo(width / 2, height / 2 + REACH * unit);
    for (const chroma of [40, 80]) {
      pen.moveTo(width / 2 + chroma * unit, height / 2);
      pen.arc(width / 2, height / 2, chroma * unit, 0, 2 * Math.PI);
    }
    pen.stroke();
    pen.globalAlpha = 1;
    // The shadow of the body is what the paper reaches at any lightness.
    pen.globalAlpha = 0.5;
    for (const face of this.faces) {
      pen.fillStyle = css([72, face.middle[1] * 0.55, face.middle[2] * 0.55]);
      pen.beginPath();
      face.corners.map(put2).forEach(([x, y], n) => (n ? pen.lineTo(x, y) : pen.moveTo(x, y)));
      pen.closePath();
      pen.fill();
    }
    pen.globalAlpha = 1;
    for (const dot of this.dots) {
      const [x, y] = put2(dot.at);
      pen.fillStyle = dot.colour;
      pen.fillRect(x - 1, y - 1, 2, 2);
    }
    pen.fillStyle = ink;
    pen.font = "12px sans-serif";
    pen.fillText("+a*", width / 2 + 98 * unit - 14, height / 2 - 5);
    pen.fillText("+b*", width / 2 + 5, height / 2 - 100 * unit + 6);
    pen.fillText("80", width / 2 + 80 * unit + 3, height / 2 + 14);
  }
}
