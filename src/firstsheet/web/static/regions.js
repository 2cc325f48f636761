// What the paper truly takes, place by place: numbered lines on the sheet, and the same places in
// words below it. Pointing at one, or reaching it by keyboard, shows the other.

import { api } from "./api.js";
import { bound, h, keyed, mark, put, s } from "./dom.js";
import { weightMark } from "./findings.js";
import { words } from "./words.js";

const say = words.regions;
const TAG_PX = 23; // across a number with its ring
const FIRST = 5; // places told and outlined at once; the others when they are asked for

export class Regions {
  constructor(bench) {
    this.bench = bench;
    this.verdict = h("p.what", {});
    this.list = h("ol.region-list", {});
    this.moreWords = h("summary", {});
    this.moreList = h("ol.region-list", {});
    this.more = h("details.region-more", {
      ontoggle: () => this.lines.classList.toggle("all", this.more.open),
    }, this.moreWords, this.moreList);
    this.also = h("ul.region-also", {});
    this.legend = h("p.small", {}, say.legend);
    this.node = h("section.regions", { hidden: true, "aria-labelledby": "regions-title" },
      h("h2#regions-title", {}, say.title), this.verdict, this.list, this.more, this.also,
      this.legend);
    this.lines = s("g", { class: "region-lines", "aria-hidden": "true" });
    this.found = [];
  }

  /** Lines belong over the tiles and under the handles. */
  drawOn(stage) {
    this.stage = stage;
    stage.overlay.svg.prepend(this.lines);
  }

  /** Ask again where the plan is another one; only while it is looked at. */
  async update(view, seen) {
    this.seen = seen && Boolean(view.loss) && !view.measuring;
    this.node.hidden = !this.seen || !this.answer;
    if (!this.seen || this.key === view.plan_digest) return;
    const key = view.plan_digest;
    this.key = key;
    this.node.classList.add("older");
    try {
      const answer = await api.regions(view.id);
      if (this.key !== key) return;
      this.take(answer);
    } catch {
      if (this.key !== key) return;
      this.key = "";
      this.answer = null;
      this.found = [];
      this.lines.replaceChildren();
    }
    this.node.classList.remove("older");
    this.node.hidden = !this.seen || !this.answer;
    this.place(this.seen);
  }

  take(answer) {
    this.answer = answer;
    this.found = answer.regions;
    this.node.dataset.plan = answer.plan_digest;
    put(this.verdict, bound(answer.verdict));
    this.verdict.hidden = answer.regions.some((one) => one.weight === "caution");
    put(this.legend, answer.regions.length ? say.legend : say.none);
    const first = Math.max(1, Math.min(FIRST, answer.regions.filter((one) => one.weight === "caution").length));
    this.first = first;
    this.drawList(this.list, this.found.slice(0, first));
    this.drawList(this.moreList, this.found.slice(first));
    this.more.hidden = this.found.length <= first;
    put(this.moreWords, say.more(this.found.length - first));
    this.also.replaceChildren(...answer.also.map((one) => h("li", {}, bound(one))));
    this.also.hidden = !answer.also.length;
    this.drawLines();
  }

  drawList(list, regions) {
    keyed(list, regions, (one) => one.number, (one) => h("li", {},
      h("button.region", {
        type: "button", "aria-pressed": "false",
        onclick: () => this.hold(one.number),
        onfocus: () => this.point(one.number), onblur: () => this.point(this.held ?? 0),
        onpointerenter: () => this.point(one.number), onpointerleave: () => this.point(this.held ?? 0),
      }, h("span.region-number", {}), h("span.region-words", {}, h("b", {}), h("span", {}), h("span.small.figures", {})),
      h("span.swatches", { role: "img" }, h("i", {}), h("i", {})))),
    (node, one) => {
      const button = node.firstChild;
      const [number, text, swatches] = button.children;
      mark(button, { "data-weight": one.weight, "data-number": one.number });
      put(number, one.number);
      const [name, line, figures] = text.children;
      name.replaceChildren(weightMark(one.weight), ` ${say.weight[one.weight]}`);
      put(line, bound(one.words));
      put(figures, bound(one.figures));
      mark(swatches, { "aria-label": one.swatch_words, title: one.swatch_words });
      swatches.children[0].style.backgroundColor = one.wanted_css;
      swatches.children[1].style.backgroundColor = one.printed_css;
    });
  }

  drawLines() {
    this.lines.replaceChildren(...this.found.map((one, n) => {
      const d = one.loops.map((loop) => `M${loop.map((at) => at.join(" ")).join("L")}Z`).join("");
      const group = s("g", { class: `region-line ${one.weight}${n < this.first ? "" : " later"}`, "data-number": one.number },
        s("path", { class: "reach", d }), s("path", { class: "halo", d }), s("path", { class: "line", d }),
        s("g", { class: "tag" }, s("circle", { r: 10.5 }), s("text", { "text-anchor": "middle", y: 4.5 }, String(one.number))));
      group.addEventListener("pointerenter", () => this.point(one.number));
      group.addEventListener("pointerleave", () => this.point(this.held ?? 0));
      return group;
    }));
    this.point(this.held ?? 0);
  }

  /** Put the lines where the picture lies now. */
  place(seen) {
    const { stage } = this;
    const sheet = stage?.sheet;
    const there = Boolean(seen && sheet && this.answer && this.found.length);
    this.lines.style.display = there ? "" : "none";
    if (!there) return;
    const { style } = stage.sheetBox;
    const k = parseFloat(style.width) / sheet.width_mm;
    const [x, y] = [parseFloat(style.left) + sheet.picture.left * k, parseFloat(style.top) + sheet.picture.top * k];
    const numbers = []; // that lie there already; the next one moves aside
    for (const [n, group] of [...this.lines.children].entries()) {
      for (const path of group.querySelectorAll("path")) path.setAttribute("transform", `translate(${x} ${y}) scale(${k})`);
      const [nx, ny] = this.found[n].number_at;
      const at = [x + nx * k, y + ny * k];
      while (numbers.some((one) => Math.hypot(one[0] - at[0], one[1] - at[1]) < TAG_PX)) at[0] += TAG_PX;
      numbers.push(at);
      group.lastChild.setAttribute("transform", `translate(${at[0]} ${at[1]})`);
    }
  }

  /** Keep one place shown until it is pressed again. */
  hold(number) {
    this.held = this.held === number ? 0 : number;
    for (const button of this.node.querySelectorAll("button")) {
      mark(button, { "aria-pressed": String(Number(button.dataset.number) === this.held) });
    }
    this.point(this.held || number);
  }

  /** Show one place on the sheet and in the list; 0 shows all alike. */
  point(number) {
    this.lines.classList.toggle("one", number > 0);
    for (const one of [...this.lines.children, ...this.node.querySelectorAll("button")]) {
      one.classList.toggle("pointed", Number(one.dataset.number) === number);
    }
  }
}
