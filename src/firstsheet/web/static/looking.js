// The four ways to look, as questions over the stage, with the few tools each needs.

import { api } from "./api.js";
import { bound, h, mark, put, say as tell } from "./dom.js";
import { Choice } from "./listbox.js";
import { askScreen } from "./screen.js";
import { Regions } from "./regions.js";
import { Spot } from "./spot.js";
import { words } from "./words.js";
import { Stage } from "./viewer/stage.js";

const WAYS = ["look", "loss", "close", "stand"];
const say = words.stage;
const EYE_CPD = 30; // line pairs in a degree: the norm of good eyesight, docs/theory/viewing.md

export class Looking {
  constructor(bench) {
    this.bench = bench;
    this.tabs = WAYS.map((way) => h("button.way", {
      type: "button", role: "tab", id: `way-${way}`, "aria-controls": "stage-panel",
      "aria-selected": way === "look" ? "true" : "false", tabindex: way === "look" ? "0" : "-1",
      onclick: () => this.go(way),
    }, words.ways[way]));
    const tabs = h("div.ways", {
      role: "tablist", "aria-label": words.ways.label, onkeydown: (event) => this.tabKey(event),
    }, this.tabs);
    this.host = h("div.stage", {
      tabindex: "0", role: "application", "aria-label": say.label, "aria-describedby": "stage-keys",
      "aria-roledescription": "table",
    });
    this.tools = h("div.tools", {});
    this.caption = h("p.caption", { "aria-live": "off" });
    this.legend = h("div.legend", { hidden: true });
    this.panel = h("div.stage-panel#stage-panel", { role: "tabpanel", "aria-labelledby": "way-look" },
      h("span.unseen#stage-keys", {}, say.keys), this.host, this.legend,
      this.under = h("div.under", {}, this.caption, this.tools));
    this.node = h("section.looking", { "aria-label": say.label }, tabs, this.panel);
    this.regions = new Regions(bench);
    this.panel.append(this.regions.node);
    this.spot = new Spot(this.host, () => this.stage.clearCross());
    this.stage = new Stage(this.host, say, {
      set: (changes) => bench.set(changes).finally(() => this.stage.settle()),
      spot: (mm, at) => this.readSpot(mm, at),
      drawn: (state) => this.drawn(state),
      through: (on) => this.seeThrough(on),
    });
    this.regions.drawOn(this.stage);
    this.makeTools();
    this.screenSet(bench.screen);
  }

  makeTools() {
    const button = (text, title, run, look = "tool") =>
      h(`button.${look}`, { type: "button", title, onclick: run }, text);
    this.dragChoice = new Choice({
      look: "quiet", taken: (value) => { this.stage.drags = value; this.drawDrag(); },
    });
    this.dragRow = h("span.drag", {}, `${say.drags} `, this.dragChoice.node);
    this.pixels = button(say.pixels, say.pixelsTitle, () => this.stage.truePixels());
    this.size = button(say.size, say.sizeTitle, () => this.withScreen(() => this.stage.trueSize()));
    this.hold = button(say.holdBare, say.holdTitle, () => {}, "tool");
    mark(this.hold, { "aria-pressed": "false" });
    const bare = (on) => {
      if (this.stage.bare === on) return;
      this.stage.bare = on;
      mark(this.hold, { "aria-pressed": String(on) });
      this.stage.draw();
    };
    this.hold.addEventListener("pointerdown", (event) => { this.hold.setPointerCapture(event.pointerId); bare(true); });
    for (const end of ["pointerup", "pointercancel", "blur"]) this.hold.addEventListener(end, () => bare(false));
    this.hold.addEventListener("keydown", (event) => {
      if (event.key === " " || event.key === "Enter") { event.preventDefault(); bare(true); }
    });
    this.hold.addEventListener("keyup", () => bare(false));
    /** A button that turns something of the stage on and off. */
    const turned = (what, text, title, then = () => this.stage.draw()) => {
      const node = button(text, title, () => {
        this.stage[what] = !this.stage[what];
        mark(node, { "aria-pressed": String(this.stage[what]) });
        then();
      });
      return mark(node, { "aria-pressed": "false" });
    };
    this.line = turned("divide", say.divide, say.divideTitle);
    this.exact = turned("exact", say.exactTiles, say.exactTitle);
    this.ink = turned("inked", say.ink, say.inkTitle);
    this.through = button(say.through, say.throughTitle, () => {
      this.seeThrough(!this.stage.through);
      this.stage.stand();
    });
    mark(this.through, { "aria-pressed": "false" });
    this.screen = button(words.screen.set, words.screen.title, () => this.withScreen(null, true));
    this.lit = turned("lit", "", say.litTitle, () => {
      this.paper(this.view);
      this.words();
      this.stage.draw();
    });
    this.farther = button("−", say.farther, () => this.stage.nearer(0.8), "tool.round");
    this.nearer = button("+", say.nearer, () => this.stage.nearer(1.25), "tool.round");
    for (const one of [this.farther, this.nearer]) mark(one, { "aria-label": one.title });
    this.whole = button(say.whole, say.whole, () => this.stage.whole());
    this.tools.append(this.dragRow, this.lit, this.hold, this.line, this.ink, this.exact, this.pixels,
      this.size, this.through, this.screen, this.whole, h("span.pair", {}, this.farther, this.nearer));
    this.drawDrag();
    this.drawTools();
  }

  /** What the eye takes in, drawn larger; or the true angle, where one's own eye does its part. */
  seeThrough(on) {
    this.stage.through = on;
    mark(this.through, { "aria-pressed": String(on) });
    this.drawTools();
  }

  drawDrag() {
    const options = Object.entries(say.drag).map(([value, text]) => ({ value, text }));
    this.dragChoice.update({
      text: say.drag[this.stage.drags], value: this.stage.drags, options, title: say.dragsTitle,
    });
    this.host.dataset.drags = this.stage.drags;
  }

  drawTools() {
    const { way, fixed } = this.stage;
    this.lit.hidden = way !== "look" || !this.view?.light;
    if (this.view?.light) put(this.lit, this.view.light.title);
    this.dragRow.hidden = way !== "look";
    for (const one of [this.hold, this.line]) one.hidden = way !== "close" || !this.stage.canCompare;
    for (const one of [this.pixels, this.size, this.exact]) one.hidden = way !== "close";
    this.ink.hidden = way !== "close" || !this.view?.tiles?.["print-inked"];
    this.through.hidden = way !== "stand" || !this.stage.pxPerMm;
    this.screen.hidden = way !== "stand"; // up close “True size” asks by itself
    this.whole.hidden = way === "stand" && Boolean(this.stage.pxPerMm);
    this.farther.disabled = fixed;
    put(this.screen, this.stage.pxPerMm ? words.screen.again : words.screen.set);
  }

  tabKey(event) {
    const now = WAYS.indexOf(this.stage.way);
    const to = { ArrowRight: now + 1, ArrowLeft: now - 1, Home: 0, End: WAYS.length - 1 }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    const at = (to + WAYS.length) % WAYS.length;
    this.go(WAYS[at]);
    this.tabs[at].focus();
  }

  go(way) {
    this.tabs.forEach((tab, n) => mark(tab, {
      "aria-selected": String(WAYS[n] === way), tabindex: WAYS[n] === way ? "0" : "-1",
    }));
    mark(this.panel, { "aria-labelledby": `way-${way}` });
    this.spot.hide();
    this.stage.setWay(way);
    this.host.dataset.way = this.under.dataset.way = way;
    if (this.view) this.paper(this.view);
    this.drawTools();
    this.askSeen(true);
    this.words();
    this.stage.draw();
  }

  /** The look from there is made when it is first looked at; `again` also where it failed. */
  async askSeen(again = false) {
    const { view } = this;
    if (this.stage.way !== "stand" || !view?.seen || this.askingSeen) return;
    if (view.seen.state !== "" && !(again && view.seen.state === "failed")) return;
    this.askingSeen = true;
    try {
      const seen = await api.seen(view.id);
      if (this.view === view) view.seen = seen;
    } catch (slip) {
      if (slip.status !== 404) this.bench.note(slip); // 404: the wish changed, its view will ask
    }
    this.askingSeen = false;
    if (this.view === view) this.words();
    else this.askSeen();
  }

  /** How far the look from there is. */
  seenNews(share) {
    if (!this.view?.seen) return;
    Object.assign(this.view.seen, { state: "making", share });
    if (this.stage.way === "stand") this.words();
  }

  /** Take a way to look; gives the node that holds them all. */
  show(way) {
    this.go(way);
    return this.node;
  }

  screenSet({ px_per_mm: px = 0, away_mm: away = 600 } = {}) {
    this.stage.pxPerMm = px;
    this.stage.awayMm = away;
    if (this.stage.way === "stand") this.stage.stand();
    else this.stage.aim();
    this.drawTools();
    this.words();
  }

  withScreen(then, always = false) {
    if (this.stage.pxPerMm && !always) { then?.(); return; }
    askScreen(this.bench.screen, (screen) => {
      this.bench.keepScreen(screen);
      this.screenSet(screen);
      then?.();
    });
  }

  update(view) {
    this.view = view;
    this.stage.update(view);
    this.host.classList.toggle("measuring", Boolean(view.measuring));
    this.askSeen();
    this.paper(view);
    this.readAgain(view);
    this.drawLegend(view);
    this.tools.hidden = !view.sheet;
    this.words();
    this.drawTools();
  }

  /** A colour that was read is read again for another plan; it never stands beside the new one. */
  readAgain(view) {
    if (this.spot.node.hidden || view.measuring || view.plan_digest === this.readOf) return;
    const { width, height } = view.sheet.picture;
    const mm = this.readMm;
    if (!mm || mm[0] > width || mm[1] > height) { this.spot.hide(); this.stage.clearCross(); return; }
    this.readSpot(mm, this.stage.crossPx ?? [0, 0]);
  }

  /** The sheet has the paper's own white, by its measured Lab, unless the screen's is asked for. */
  async paper(view) {
    const said = (key) => view.sentence.find((one) => one.key === key)?.value ?? "";
    const name = said("stock");
    const { lit, way } = this.stage;
    const mine = this.papering = {}; // an earlier question may be answered later
    let white = "";
    if (lit && way === "look" && view.light?.shows) white = view.light.white_css;
    else if (said("output.proof-white") !== "screen") {
      white = view.sheet?.white_css ?? (await this.bench.whiteOf(name));
    }
    if (this.papering === mine) this.stage.sheetBox.style.backgroundColor = white;
  }

  drawLegend(view) {
    const { loss } = view;
    const key = loss ? `${loss.legend}|${loss.bands.join("|")}|${loss.words}` : "";
    if (key === this.legendKey) return;
    this.legendKey = key;
    this.legend.replaceChildren();
    if (!loss) return;
    this.legend.append(
      h("div.scale", {},
        h("img", { src: loss.legend, alt: `${say.lossUnit}, 0 – ${loss.top_de00}` }),
        h("span", {}, `0 ${say.lossUnit}`), h("span", {}, say.lossTop(loss.top_de00))),
      h("ul.bands", {}, loss.bands.map((band) => h("li", {}, band))),
    );
  }

  words() {
    const view = this.view;
    if (!view) return;
    const way = this.stage.way;
    this.regions.update(view, way === "loss");
    this.legend.hidden = way !== "loss" || !view.loss;
    let text = "";
    if (way === "look") text = this.stage.lit && view.light ? view.light.words : view.proof_caption;
    else if (way === "loss") {
      text = view.loss ? `${view.loss.words} ${say.lossHint}` : view.measuring ? say.waiting : say.lossNone;
    } else if (way === "stand") text = this.standText();
    else text = this.closeWords ?? "";
    put(this.caption, bound(text));
  }

  /** What is shown from where one stands, and what is not. */
  standText() {
    const { view, stage } = this, { seen } = view;
    const distance = view.sentence.find((one) => one.key === "place.distance")?.text ?? "";
    const away = `${Math.round(stage.awayMm / 10)} cm`;
    const shown = stage.main?.kind;
    const parts = [];
    if (!stage.pxPerMm) parts.push(say.standUnset);
    else if (!stage.throughEye) {
      parts.push(say.standWords(distance, away));
      if (stage.exceeds) parts.push(say.standPart);
    }
    if (shown === "inked") {
      parts.push(say.standInk(seen?.ink));
      const perDegree = stage.pxPerMm * devicePixelRatio * stage.awayMm * (Math.PI / 180);
      if (perDegree < 2 * EYE_CPD) parts.push(say.standCoarse);
      parts.push(say.standNearer);
    } else if (shown === "seen") {
      parts.push(say.standEye(distance, seen?.ink));
      if (stage.pxPerMm) parts.push(say.standTimes((stage.camera.k / stage.standPerMm).toFixed(1)), stage.atLeast ? say.standFarther : "");
    } else if (seen?.state === "failed" && seen.error) {
      parts.push(seen.error.found, seen.error.consequence, seen.error.choice);
    } else if (seen) parts.push(say.standMaking(Math.floor(100 * seen.share)));
    else parts.push(say.standWaiting);
    return parts.filter(Boolean).join(" ");
  }

  /** Go up close to a place of the picture, mm from its corner, with words of its own. */
  visit(mm, text) {
    this.go("close");
    this.stage.visit(mm);
    tell(text);
  }

  /** What dragging and the arrow keys move from now on. */
  takeHold(what) {
    this.go("look");
    this.stage.drags = what;
    this.drawDrag();
    this.host.focus({ preventScroll: true });
  }

  drawn(state) {
    this.spot.follow(this.stage.crossPx);
    this.regions.place(state.way === "loss");
    if (state.way === "stand") { put(this.caption, bound(this.standText())); this.drawTools(); }
    if (state.way !== "close") return;
    const one = Math.abs(state.devicePerPixel - 1) < 0.002;
    const real = this.stage.pxPerMm && Math.abs(state.trueSize - 1) < 0.01;
    const scale = state.devicePerPixel >= 0.1 ? state.devicePerPixel.toFixed(2) : state.devicePerPixel.toFixed(3);
    this.closeWords = one ? `${say.closeOne}.` : real ? `${say.closeTrue}.` : say.closeScale(scale);
    this.closeWords = this.closeWords[0].toUpperCase() + this.closeWords.slice(1);
    mark(this.pixels, { "aria-pressed": String(one) });
    mark(this.size, { "aria-pressed": String(Boolean(real)) });
    if (this.stage.inked && state.kind === "print-inked") {
      // Single pixels are shown from half a screen pixel each; farther off they are averaged away.
      const near = state.devicePerPixel > 0.5;
      this.closeWords = `${this.closeWords.replace(/\.$/, "")}${near ? say.closeInk(this.view.seen?.ink) : say.closeFar}`;
    }
    put(this.caption, this.closeWords);
    if (this.hold.hidden === Boolean(state.canCompare)) this.drawTools();
  }

  async readSpot(mm, at) {
    this.reading?.abort();
    Object.assign(this, { readMm: mm, readOf: this.view?.plan_digest });
    if (!mm) {
      this.spot.hide();
      return;
    }
    this.reading = new AbortController();
    this.spot.wait(at);
    try {
      const answer = await api.spot(this.bench.id, mm[0].toFixed(2), mm[1].toFixed(2), this.reading.signal);
      this.spot.show(at, answer);
    } catch (slip) {
      if (slip.name !== "AbortError") this.spot.refuse(at, slip);
    }
  }
}
