// The stage: the sheet on the table, seen through one camera. Joins geometry, tiles, overlay and
// input; knows the four ways to look; tells its owner what a person wishes (set, spot).

import { Camera } from "./camera.js";
import { bothWords, keepInSight, mmWords, snapPlace, wholePlace } from "./geometry.js";
import { listenTo } from "./input.js";
import { movedSheet, wishOf } from "./moves.js";
import { Overlay } from "./overlay.js";
import { TileLayer } from "./tiles.js";

const LAYERS = ["under", "over"];

/** Which tile kinds each way shows: [main, fallback]; what each layer covers. */
const KINDS = { look: ["proof", "picture"], loss: ["loss"], close: ["print", "proof"], stand: ["inked", "proof"] };

export class Stage extends Camera {
  /**
   * `wishes`: set(changes), spot(mm, at), drawn(state), through(on).
   */
  constructor(host, words, wishes) {
    super();
    Object.assign(this, { host, words, wishes });
    this.way = "look";
    this.drags = "view";
    this.live = null; // sheet as it is being dragged
    this.divide = false;
    this.dividerShare = 0.5;
    this.bare = false; // the unsharpened print is being held up
    this.exact = false;
    this.inked = false; // up close, with the spread of the ink
    this.through = false; // from where one stands, as the eye takes it in, drawn larger
    this.lit = false; // as bright as in the light where it hangs
    this.cross = null; // mm from the picture's corner of the place that is read or shown
    this.world = document.createElement("div"); // lies on whole device pixels of the page
    this.world.className = "world";
    host.append(this.world);
    this.sheetBox = document.createElement("div");
    this.sheetBox.className = "sheet";
    this.world.append(this.sheetBox);
    this.firstLook = document.createElement("img"); // a small whole picture until tiles are there
    this.firstLook.className = "first-look";
    this.firstLook.alt = "";
    this.firstLook.draggable = false;
    this.world.append(this.firstLook);
    this.layers = Object.fromEntries(
      LAYERS.map((name) => [name, new TileLayer(this.world, name, () => this.draw())]),
    );
    this.overlay = new Overlay(this.world, words);
    listenTo(host, this.world, {
      pan: (dx, dy) => this.pan(dx, dy),
      zoom: (factor, x, y) => this.zoom(factor, x, y),
      grab: (handle, x, y) => this.grab(handle, x, y),
      tap: (x, y) => this.tap(x, y),
      key: (key, handle, event) => this.key(key, handle, event),
    });
    new ResizeObserver(() => this.roomChanged()).observe(host);
    this.watchRatio();
    // The place of the host on the page decides where whole device pixels lie.
    addEventListener("scroll", () => this.draw(), { passive: true });
  }

  watchRatio() {
    matchMedia(`(resolution: ${devicePixelRatio}dppx)`).addEventListener("change", () => {
      this.watchRatio();
      this.roomChanged();
    }, { once: true });
  }

  // ---- what is shown -----------------------------------------------------------------------

  /** Take a View. Keeps the camera unless the sheet itself became another. */
  update(view) {
    const before = this.sheet;
    this.view = view;
    // News that comes in the middle of a move does not end it.
    const { moving } = this;
    this.live = moving && view.sheet ? movedSheet(view.sheet, moving.what, moving.d) : null;
    if (!view.sheet) { this.draw(); return; }
    this.tileSets = view.tiles ?? {};
    if (view.first_look && this.firstLook.getAttribute("src") !== view.first_look) {
      this.firstLook.src = view.first_look;
    }
    const other = !before || before.width_mm !== view.sheet.width_mm
      || before.height_mm !== view.sheet.height_mm
      || (this.way === "stand" && before.distance_mm !== view.sheet.distance_mm);
    if (other) this.aim();
    this.draw();
  }

  get sheet() { return this.live ?? this.view?.sheet ?? null; }

  setWay(way) {
    if (this.way === way) return;
    this.way = way;
    this.cross = null;
    this.bare = false;
    if (way === "close") this.truePixels();
    else if (way === "stand") this.stand();
    else this.whole();
  }

  /** The set of tiles shown now, and what part of the sheet it covers. */
  get main() { return this.find(this.kinds); }

  /** Kinds of tiles that would do now, the best first. */
  get kinds() {
    if (this.way === "look" && this.lit) return ["lit", ...KINDS.look];
    if (this.way === "close" && this.inked) return ["print-inked", ...KINDS.close];
    if (this.throughEye) return ["seen", "proof"];
    return KINDS[this.way];
  }

  /**
   * Whether the eye's limits are worked in. Not where the sheet takes the angle it takes from its
   * distance, for there the person's own eye does it; docs/theory/acutance.md.
   */
  get throughEye() { return this.way === "stand" && (this.through || !this.pxPerMm); }

  find(kinds) {
    for (const kind of kinds) {
      const set = this.tileSets?.[kind];
      if (set) return { set, kind, covers: this.covers(kind) };
    }
    return null;
  }

  covers(kind) { return this.tileSets[kind].of ?? (/^(print|inked|seen)/.test(kind) ? "picture" : "file"); }

  /** mm box on the sheet that a set covers. */
  coverBox(covers) {
    const { picture: p, crop, width_mm: w, height_mm: hh } = this.sheet;
    if (covers === "sheet") return { left: 0, top: 0, width: w, height: hh };
    if (covers === "picture") return p;
    const width = p.width / crop.width, height = p.height / crop.height;
    return { left: p.left - crop.left * width, top: p.top - crop.top * height, width, height };
  }

  /** Fetch the tiles again: better ones are there. */
  again() {
    for (const layer of Object.values(this.layers)) layer.again();
    this.draw();
  }

  // ---- drawing -----------------------------------------------------------------------------

  draw() {
    this.host.dataset.settled = "false";
    this.frame ||= requestAnimationFrame(() => { this.frame = 0; this.drawNow(); });
  }

  /** Says on the stage itself what lies on it now: by then the tiles of another way are gone. */
  markShown(main) {
    const { under, over } = this.layers;
    const { dataset } = this.host;
    dataset.shows = this.way;
    dataset.kind = main?.kind ?? "";
    dataset.tiles = main?.set.url ?? "";
    dataset.revision = this.view.revision;
    dataset.plan = this.view.plan_digest ?? "";
    dataset.lies = String(this.fixed && !this.exceeds);
    dataset.lit = String(main?.kind === "lit");
    dataset.settled = String(under.whole && (!over.shown || over.whole));
  }

  drawNow() {
    const { sheet, camera, host } = this;
    host.classList.toggle("empty", !sheet);
    if (!sheet) return;
    const ratio = devicePixelRatio;
    const [w, hh] = this.room;
    const page = this.settleWorld(ratio);
    const k = this.snapped(camera.k);
    if (k !== camera.k) { // keep the middle still
      camera.x = w / 2 - ((w / 2 - camera.x) * k) / camera.k;
      camera.y = hh / 2 - ((hh / 2 - camera.y) * k) / camera.k;
      camera.k = k;
    }
    camera.x = keepInSight(camera.x, sheet.width_mm * k, w, 48);
    camera.y = keepInSight(camera.y, sheet.height_mm * k, hh, 48);
    const { picture: p } = sheet;
    this.lastMiddle = [(w / 2 - camera.x) / k, (hh / 2 - camera.y) / k];
    const snap = (value, axis) => snapPlace(value, page[axis], ratio);
    const main = this.main;
    const box = main && this.coverBox(main.covers);
    // All follows from the tiles' corner, which lies on a whole device pixel.
    const corner = main
      ? [snap(camera.x + box.left * k, 0), snap(camera.y + box.top * k, 1)]
      : [snap(camera.x, 0), snap(camera.y, 1)];
    const base = main ? [corner[0] - box.left * k, corner[1] - box.top * k] : corner;
    const at = (x, y) => [base[0] + x * k, base[1] + y * k];
    const rect = (b) => {
      const [x, y] = at(b.left, b.top), [x2, y2] = at(b.left + b.width, b.top + b.height);
      return [snap(x, 0), snap(y, 1), snap(x2, 0) - snap(x, 0), snap(y2, 1) - snap(y, 1)];
    };
    const sheetPx = rect({ left: 0, top: 0, width: sheet.width_mm, height: sheet.height_mm });
    const picturePx = rect(p);
    Object.assign(this.sheetBox.style, {
      left: `${sheetPx[0]}px`, top: `${sheetPx[1]}px`,
      width: `${sheetPx[2]}px`, height: `${sheetPx[3]}px`,
    });
    this.drawTiles({ main, box, corner, k, ratio, picturePx, sheetPx, room: [w, hh] });
    this.drawFirst(rect(this.coverBox("file")), picturePx);
    this.crossPx = this.cross && at(p.left + this.cross[0], p.top + this.cross[1]);
    this.drawOverlay({ sheetPx, picturePx, k, sheet, room: [w, hh] });
    this.markShown(main);
    this.wishes.drawn?.(this.state(main, k, ratio));
  }

  /**
   * Layout puts the host anywhere; what is drawn in it must begin on a whole pixel, both of CSS
   * and of the device, for either is what the browser rounds to. Gives that place on the page.
   */
  settleWorld(ratio) {
    const place = this.host.getBoundingClientRect();
    const { style } = this.world;
    return [["left", place.left + scrollX], ["top", place.top + scrollY]].map(([side, at]) => {
      const whole = wholePlace(at, ratio);
      style[side] = `${whole - at}px`;
      return whole;
    });
  }

  /** Under the tiles lies the first look, as long as some are missing. */
  drawFirst([x, y, w, hh], [px, py, pw, ph]) {
    const { style } = this.firstLook;
    const there = this.firstLook.getAttribute("src") && !this.layers.under.whole && this.way !== "loss";
    style.display = there ? "" : "none";
    if (!there) return;
    Object.assign(style, { left: `${x}px`, top: `${y}px`, width: `${w}px`, height: `${hh}px` });
    style.clipPath = `inset(${py - y}px ${x + w - px - pw}px ${y + hh - py - ph}px ${px - x}px)`;
  }

  drawTiles({ main, box, corner, k, ratio, picturePx, sheetPx, room }) {
    const { under, over } = this.layers;
    const [w, hh] = room;
    const clip = (b) => [b[0], b[1], b[0] + b[2], b[1] + b[3]];
    if (!main) { under.use(null); over.use(null); under.draw({}); over.draw({}); return; }
    const whole = clip(main.covers === "sheet" ? sheetPx : picturePx);
    const scale = (k * box.width) / main.set.width;
    const common = { origin: corner, ratio, seen: [0, 0, w, hh] };
    under.use(main.set, this.exact && this.way === "close");
    under.draw({ ...common, scale, clip: whole });
    const printed = this.way === "close" && main.kind.startsWith("print");
    const bare = main.kind === "print-inked" ? "print-unsharpened-inked" : "print-unsharpened";
    const other = printed ? this.tileSets[bare] : null;
    this.canCompare = Boolean(other);
    if (this.canCompare && (this.divide || this.bare)) {
      over.use(other, this.exact);
      const stop = this.bare ? whole[2] : Math.min(whole[2], w * this.dividerShare);
      over.draw({
        ...common, scale: (k * box.width) / other.width,
        clip: [whole[0], whole[1], Math.max(whole[0], stop), whole[3]],
      });
    } else {
      over.use(null);
      over.draw({});
    }
  }

  drawOverlay({ sheetPx, picturePx, k, sheet, room }) {
    const { view } = this;
    const live = this.live !== null;
    const p = sheet.picture;
    const borders = [p.top, sheet.width_mm - p.left - p.width, sheet.height_mm - p.top - p.height, p.left];
    const texts = {
      sheetWidth: sheet.sheet_texts[0], sheetHeight: sheet.sheet_texts[1],
      width: live ? bothWords(p.width) : sheet.width_words,
      height: live ? bothWords(p.height) : sheet.height_words,
    };
    ["top", "right", "bottom", "left"].forEach((side, n) => {
      texts[side] = live ? mmWords(borders[n]) : view.sheet.border_texts[n];
    });
    const look = this.way === "look";
    const edge = ["top", "right", "bottom", "left"].map((side) => sheet.unprintable[side] * k);
    this.overlay.draw({
      sheet: sheetPx, picture: picturePx, edge, texts, cross: this.crossPx,
      show: {
        measures: look, borders: look, handles: look && this.view.state === "ready",
        edge: look && Math.min(...edge) >= 1,
      },
      divider: this.way === "close" && this.divide && this.canCompare && !this.bare
        ? [room[0] * this.dividerShare, 0, room[1], this.dividerShare] : null,
      values: {
        top: texts.top, right: texts.right, bottom: texts.bottom, left: texts.left,
        corner: texts.width,
      },
    });
  }

  /** What the page says about the picture on show. */
  state(main, k, ratio) {
    const finest = this.finestPerMm();
    return {
      way: this.way,
      kind: main?.kind ?? "",
      devicePerPixel: finest ? (k / finest) * ratio : 0,
      trueSize: this.pxPerMm ? k / this.pxPerMm : 0,
      canCompare: this.canCompare,
      held: this.held,
    };
  }

  // ---- wishes ------------------------------------------------------------------------------

  /** mm on the picture (from its corner on paper), or null outside. */
  onPicture(x, y) {
    const { picture: p } = this.sheet;
    const mm = [(x - this.camera.x) / this.camera.k - p.left, (y - this.camera.y) / this.camera.k - p.top];
    const inside = mm[0] >= 0 && mm[1] >= 0 && mm[0] <= p.width && mm[1] <= p.height;
    return inside ? mm : null;
  }

  tap(x, y) {
    if (!this.sheet || this.way === "stand") return;
    const mm = this.onPicture(x, y);
    this.cross = mm;
    this.draw();
    this.wishes.spot(mm, [x, y]);
  }

  /** Bring a place of the picture, mm from its corner, to the middle and mark it. */
  visit(mm) {
    const { picture: p } = this.sheet;
    this.cross = mm;
    this.lastMiddle = [p.left + mm[0], p.top + mm[1]];
    this.centreAt(this.camera.k);
  }

  clearCross() { this.cross = null; this.draw(); }

  grab(handle, x, y) {
    if (!this.sheet) return null;
    if (handle === "divider") {
      return {
        move: (x2) => this.setDivider(x2 / this.room[0]),
        end: () => {},
      };
    }
    const what = handle || (this.way === "look" && this.onPicture(x, y) ? this.drags : "view");
    if (what === "view") return null;
    if (what === "crop" && !this.view.sheet.can_crop.some(Boolean)) return null;
    const begin = this.view.sheet;
    return {
      move: (x2, y2) => {
        const d = [(x2 - x) / this.camera.k, (y2 - y) / this.camera.k];
        this.moving = { what, d };
        this.live = movedSheet(begin, what, d);
        this.draw();
      },
      end: (gaveUp) => this.finish(what, gaveUp),
    };
  }

  setDivider(share) {
    this.dividerShare = Math.min(1, Math.max(0, share));
    this.draw();
  }

  finish(what, gaveUp) {
    const live = this.live, begin = this.view.sheet;
    this.moving = null;
    if (gaveUp || !live) { this.live = null; this.draw(); return; }
    const changes = wishOf(begin, live, what, this.view.sentence);
    if (!Object.keys(changes).length) { this.live = null; this.draw(); return; }
    this.wishes.set(changes);
  }

  /** Drop a drag that the server refused. */
  settle() { this.live = null; this.draw(); }

  key(key, handle, event) {
    const arrow = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
    if (handle === "divider") {
      if (!arrow) return false;
      this.setDivider(this.dividerShare + (arrow[0] - arrow[1]) * (event.shiftKey ? 0.1 : 0.02));
      return true;
    }
    if (arrow) {
      const mm = event.shiftKey ? 10 : 1;
      const what = handle || (this.way === "look" ? this.drags : "view");
      if (what === "view") { this.pan(arrow[0] * -48, arrow[1] * -48); return true; }
      this.nudge(what, [arrow[0] * mm, arrow[1] * mm]);
      return true;
    }
    const [w, hh] = this.room;
    if (key === "+" || key === "=") this.nearer(1.25);
    else if (key === "-") this.nearer(0.8);
    else if (key === "Home") { if (this.way === "stand") this.stand(); else this.whole(); }
    else if (key === "Enter" && !handle) this.tap(w / 2, hh / 2);
    else if (key === "Escape" && this.cross) { this.wishes.spot(null, null); this.clearCross(); }
    else return false;
    return true;
  }

  /** One press of an arrow key; presses that come quickly are taken together. */
  nudge(what, d) {
    if (!this.sheet || (what === "crop" && !this.view.sheet.can_crop.some(Boolean))) return;
    this.nudged ??= { what, d: [0, 0] };
    if (this.nudged.what !== what) return;
    this.nudged.d[0] += d[0];
    this.nudged.d[1] += d[1];
    const size = what === "corner" ? [this.nudged.d[0] / 2, 0] : this.nudged.d;
    this.moving = { what, d: size };
    this.live = movedSheet(this.view.sheet, what, size);
    this.draw();
    clearTimeout(this.nudgeTimer);
    this.nudgeTimer = setTimeout(() => {
      this.nudged = null;
      this.finish(what, false);
    }, 260);
  }
}

