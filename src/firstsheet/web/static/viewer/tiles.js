// One layer of tiles: <img> only, so that the browser manages their colour. Old tiles stay until
// the new ones are there. Exact at 1:1 because boxes are 512 CSS px scaled by `transform`, the
// scale is snapped to whole device pixels per tile and the origin to the page's device pixels.

import { TILE, levelFor, tilesSeen } from "./geometry.js";

const RETRIES = 6;

export class TileLayer {
  constructor(host, name, onready) {
    this.box = document.createElement("div");
    this.box.className = "layer";
    this.box.dataset.layer = name;
    host.append(this.box);
    this.onready = onready;
    this.tiles = new Map();
    this.set = null;
    this.exact = false;
    this.generation = 0;
  }

  /** Tiles that were made in haste are there in full now: fetch again, old ones stay meanwhile. */
  again() { this.generation += 1; }

  /** Show this set of tiles from now on; null shows none. */
  use(set, exact = false) {
    this.set = set;
    this.exact = exact;
  }

  get shown() { return this.set !== null; }

  /** Whether all tiles wanted now are there. */
  get whole() { return this.complete ?? false; }

  address([x, y], z) {
    const url = this.set.url.replace("{z}", z).replace("{x}", x).replace("{y}", y);
    const taken = this.exact ? url.replace(/\.jpg$/, ".png") : url;
    return this.generation ? `${taken}?again=${this.generation}` : taken;
  }

  /**
   * Place all tiles. `origin`: CSS px of the set's corner in the host; `scale`: CSS px per finest
   * pixel; `seen`: [left, top, right, bottom] in the host; `clip`: the same, where it ends.
   */
  draw({ origin, scale, ratio, seen, clip }) {
    const { set } = this;
    if (!set) { this.clear(); return; }
    const level = levelFor(scale, ratio, set.zmax);
    const reduce = 2 ** (set.zmax - level);
    const side = TILE * scale * reduce;
    const wanted = new Set();
    const cut = [
      Math.max(seen[0], clip[0]), Math.max(seen[1], clip[1]),
      Math.min(seen[2], clip[2]), Math.min(seen[3], clip[3]),
    ];
    for (const place of tilesSeen({
      origin, side,
      columns: Math.ceil(set.width / reduce / TILE),
      rows: Math.ceil(set.height / reduce / TILE),
      window: cut,
    })) {
      const address = this.address(place, level);
      wanted.add(address);
      if (!this.tiles.has(address)) this.fetch(address, place, level);
    }
    const all = [...wanted].every((one) => this.tiles.get(one).ready);
    this.complete = all && wanted.size > 0;
    for (const [address, tile] of this.tiles) {
      if (!wanted.has(address) && (all || !tile.ready)) this.drop(address, tile);
      else this.place(tile, { origin, scale, ratio, stale: !wanted.has(address) });
    }
    const [left, top, right, bottom] = clip;
    this.box.style.clipPath = `polygon(${left}px ${top}px,${right}px ${top}px,`
      + `${right}px ${bottom}px,${left}px ${bottom}px)`;
  }

  place(tile, { origin, scale, ratio, stale }) {
    // A stale tile may be of another set: it keeps its share of the picture.
    const own = scale * (this.set.width / tile.set.width);
    const side = TILE * own * 2 ** (tile.set.zmax - tile.level);
    const { style } = tile.image;
    style.transform = `translate(${origin[0] + tile.at[0] * side}px,`
      + `${origin[1] + tile.at[1] * side}px) scale(${side / TILE})`;
    style.zIndex = stale ? 0 : tile.level + 1;
    style.imageRendering = scale * ratio >= 2 ? "pixelated" : "auto";
  }

  fetch(address, at, level, tries = 0) {
    const image = new Image();
    const tile = { image, at, level, set: this.set, ready: false };
    image.alt = "";
    image.draggable = false;
    image.decoding = "async";
    image.width = TILE;
    image.height = TILE;
    image.className = "coming";
    image.addEventListener("load", () => {
      // Border tiles are smaller than their box: no stretching.
      image.style.width = `${image.naturalWidth}px`;
      image.style.height = `${image.naturalHeight}px`;
      const done = () => {
        tile.ready = true;
        image.className = "";
        this.onready();
      };
      image.decode().then(done, done);
    });
    image.addEventListener("error", () => {
      if (this.tiles.get(address) !== tile || tries >= RETRIES) return;
      setTimeout(() => {
        if (this.tiles.get(address) !== tile) return;
        image.remove();
        this.tiles.delete(address);
        if (this.set === tile.set) this.fetch(address, at, level, tries + 1);
        this.onready();
      }, 250 * 2 ** tries);
    });
    this.tiles.set(address, tile);
    this.box.append(image);
    image.src = address;
  }

  drop(address, tile) {
    tile.image.remove();
    if (!tile.ready) tile.image.src = "";
    this.tiles.delete(address);
  }

  clear() {
    for (const [address, tile] of this.tiles) this.drop(address, tile);
    this.complete = false;
  }
}
