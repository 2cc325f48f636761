// The camera over the table: what of the sheet is seen, and how near. CSS px per mm and the place
// of the sheet's corner; scales are snapped so that tiles lie on whole device pixels.

import { fitIn, snapScale, standScale } from "./geometry.js";

const SMALLEST = 0.02; // CSS px per mm
const LARGEST = 16; // device px per finest pixel
const NEAR_TIMES = 2; // how much larger than it seems from there the eye's picture is drawn, at least

/** Needs of its heir: `host`, `sheet`, `main`, `coverBox(covers)`, `way`, `throughEye`, `wishes`, `draw()`. */
export class Camera {
  constructor() {
    this.camera = { x: 0, y: 0, k: 1 };
    this.held = "whole"; // what the camera keeps when the room or the sheet changes
    this.pxPerMm = 0;
    this.awayMm = 600;
  }

  get room() { return [this.host.clientWidth, this.host.clientHeight]; }

  get margin() {
    const roomy = this.room[0] > 520;
    if (this.way === "look") return roomy ? [64, 58, 64, 62] : [46, 46, 46, 46];
    return roomy ? [40, 32, 40, 40] : [16, 16, 16, 16];
  }

  aim() {
    if (this.held === "pixels") this.truePixels();
    else if (this.held === "size") this.trueSize();
    else if (this.way === "stand") this.stand();
    else this.whole();
  }

  roomChanged() {
    if (this.sheet) this.aim();
  }

  whole() {
    this.held = "whole";
    if (!this.sheet) return;
    const fit = fitIn([this.sheet.width_mm, this.sheet.height_mm], this.room, this.margin);
    this.camera = { x: fit.x, y: fit.y, k: fit.scale };
    this.draw();
  }

  /** One pixel of the finest tiles on one of the screen. */
  truePixels() {
    this.held = "pixels";
    const scale = this.finestPerMm();
    if (scale) this.centreAt(scale / devicePixelRatio);
  }

  /** A mm of the sheet is a mm on the screen. */
  trueSize() {
    this.held = "size";
    if (this.pxPerMm) this.centreAt(this.pxPerMm);
  }

  /** CSS px per mm at which the sheet takes the angle it takes from its distance; 0 if unknown. */
  get standPerMm() {
    return this.sheet ? this.pxPerMm * standScale(this.awayMm, this.sheet.distance_mm) : 0;
  }

  /** Whether the sheet lies still: at the angle it takes from its distance. */
  get fixed() { return this.way === "stand" && !this.throughEye; }

  /** As large as it seems from its distance; what the eye takes in is drawn larger. */
  stand() {
    this.held = "stand";
    if (!this.sheet) return;
    if (!this.pxPerMm) { this.whole(); this.held = "stand"; return; }
    const [w, hh] = this.room;
    let k = this.standPerMm;
    if (this.throughEye) {
      const { scale } = fitIn([this.sheet.width_mm, this.sheet.height_mm], [w, hh], this.margin);
      k = Math.max(NEAR_TIMES * k, scale);
    }
    this.camera = { k, x: (w - this.sheet.width_mm * k) / 2, y: (hh - this.sheet.height_mm * k) / 2 };
    this.draw();
  }

  /** Whether the sheet is larger than the room. */
  get exceeds() {
    const { k } = this.camera, [w, hh] = this.room;
    return this.sheet.width_mm * k > w + 1 || this.sheet.height_mm * k > hh + 1;
  }

  /** Finest pixels per mm of the set shown. */
  finestPerMm() {
    const main = this.sheet && this.main;
    return main ? main.set.width / this.coverBox(main.covers).width : 0;
  }

  /** Go to scale `k` keeping what is in the middle, or the picture's middle where nothing is. */
  centreAt(k) {
    if (!this.sheet) return;
    const [w, hh] = this.room;
    const { picture: p } = this.sheet;
    let at = this.lastMiddle;
    if (!at) at = [p.left + p.width / 2, p.top + p.height / 2];
    this.camera = { k, x: w / 2 - at[0] * k, y: hh / 2 - at[1] * k };
    this.draw();
  }

  zoom(factor, x, y) {
    if (!this.sheet || this.stepped(factor, x, y)) return;
    const finest = this.finestPerMm() || 1;
    const most = (LARGEST / devicePixelRatio) * finest;
    const least = Math.max(SMALLEST, this.throughEye ? NEAR_TIMES * this.standPerMm : 0);
    const k = this.snapped(Math.max(least, Math.min(most, this.camera.k * factor)));
    // A snapped step may not move at all: then take the next one.
    const real = k / this.camera.k;
    this.camera = { k, x: x - (x - this.camera.x) * real, y: y - (y - this.camera.y) * real };
    this.held = "own";
    this.draw();
  }

  /**
   * From where one stands nothing is shown between the true angle and twice of it, so that step is
   * one: nearer brings what the eye takes in, farther the true angle again. Says whether it was
   * such a step, or one that would lead nowhere.
   */
  stepped(factor, x, y) {
    const { standPerMm: once, camera } = this;
    if (this.way !== "stand" || !once) return false;
    const least = NEAR_TIMES * once;
    if (this.fixed && factor > 1) {
      const k = Math.max(least, camera.k), real = k / camera.k;
      this.wishes.through(true);
      this.camera = { k, x: x - (x - camera.x) * real, y: y - (y - camera.y) * real };
      this.held = "own";
      this.draw();
    } else if (!this.fixed && factor < 1 && this.atLeast) {
      this.wishes.through(false);
      this.stand();
    } else return this.fixed;
    return true;
  }

  /** Whether what the eye takes in is drawn as small as it may be. */
  get atLeast() { return this.camera.k <= NEAR_TIMES * this.standPerMm * 1.002; }

  nearer(factor) { this.zoom(factor, this.room[0] / 2, this.room[1] / 2); }

  pan(dx, dy) {
    if (!this.sheet || (this.fixed && !this.exceeds)) return;
    this.camera.x += dx;
    this.camera.y += dy;
    if (this.held === "whole" || (this.held === "stand" && !this.fixed)) this.held = "own";
    this.draw();
  }

  snapped(k) {
    const finest = this.finestPerMm();
    const main = this.main;
    if (!finest || !main) return k;
    return snapScale(k / finest, devicePixelRatio, main.set.zmax) * finest;
  }
}
