// Findings as sentences on slips beside the sheet: weight by word and shape, choices as buttons.

import { bound, h, keyed, mark, put, s } from "./dom.js";
import { words } from "./words.js";
import { Worked } from "./worked.js";

const say = words.findings;
const RANK = { stop: 0, caution: 1, fine: 2 };
/** Shapes that differ without colour: a barred square, a half-filled lozenge, an open ring. */
const SHAPES = {
  stop: "M2 2H14V14H2ZM4.5 7H11.5V9H4.5Z",
  caution: "M8 1.2V14.8L1.2 8Z",
  fine: "M8 2.2a5.8 5.8 0 1 0 0 11.6 5.8 5.8 0 1 0 0-11.6",
};

/** The mark of a weight, with its name for those who listen. */
export function weightMark(weight) {
  return s("svg", { class: `weight ${weight}`, viewBox: "0 0 16 16", width: 16, height: 16, "aria-hidden": "true" },
    s("path", { d: SHAPES[weight] ?? SHAPES.fine }),
    weight === "caution" && s("path", { class: "open", d: "M8 1.2 14.8 8 8 14.8" }));
}

export class Findings {
  /** `choose(code, index)`, `set(changes)` and `go(part)` of the page. */
  constructor({ choose, set, go }) {
    Object.assign(this, { choose, go });
    this.worked = new WeakMap(); // of each finding's node
    this.asks = h("div.asks", {});
    this.list = h("ul.findings", {});
    this.fineList = h("ul.findings", {});
    this.fineWords = h("summary", {});
    this.fine = h("details.fine-findings", {}, this.fineWords, this.fineList);
    this.set = set;
    this.node = h("section.found", { "aria-label": say.title }, this.asks, this.list, this.fine);
  }

  update(view) {
    const all = [...view.findings].sort((a, b) => RANK[a.weight] - RANK[b.weight]);
    const fine = all.filter((one) => one.weight === "fine");
    this.draw(this.list, all.filter((one) => one.weight !== "fine"));
    this.draw(this.fineList, fine);
    this.fine.hidden = !fine.length;
    put(this.fineWords, say.fineMore(fine.length));
    this.drawAsks(view.questions ?? []);
  }

  draw(list, findings) {
    keyed(list, findings, (one) => `${one.code}/${one.weight}`, (one) => this.make(one), (node, one) => {
      const [, what, then, , choices, source] = node.children;
      const worked = this.worked.get(node);
      worked.know(one.worked ?? []);
      worked.write(what, one.found_parts, one.found);
      worked.write(then, one.consequence_parts, one.consequence);
      const keyOf = (choice) => `${choice.index}${choice.applies}${choice.goes || ""}`;
      keyed(choices, one.choices.map((choice, index) => ({ ...choice, index })), keyOf,
        (choice) => this.makeChoice(one.code, choice), (button, choice) => {
          put(button.firstChild ?? button, bound(choice.text));
          button.places = one.places;
        });
      put(source, one.source ? `${say.source}: ${one.source}` : "");
      source.hidden = !one.source;
    });
  }

  make(one) {
    const worked = new Worked();
    const node = h(`li.finding.${one.weight}`, { "data-code": one.code },
      h("p.weight-line", { title: say.weightTitle[one.weight] }, weightMark(one.weight),
        h("b", {}, say.weight[one.weight])),
      h("p.what", {}), h("p.then", {}), worked.node, h("div.choices", {}), h("p.source", {}));
    this.worked.set(node, worked);
    return node;
  }

  makeChoice(code, choice) {
    if (!choice.applies && !choice.goes) return h("span.hint", {});
    const told = h("span.visited", { role: "status" });
    const run = choice.applies ? () => this.choose(code, choice.index)
      : () => put(told, this.go(choice.goes, button.places) ?? "");
    const button = h("button.act", { type: "button", "data-goes": choice.goes || null, onclick: run }, h("span", {}), told);
    return button;
  }

  drawAsks(questions) {
    keyed(this.asks, questions, (one) => one.code, (one) => {
      const group = h("fieldset.ask", {}, h("legend", {}), h("div.readings", {}));
      group.dataset.code = one.code;
      return group;
    }, (node, one) => {
      put(node.children[0], one.text);
      keyed(node.children[1], one.options, (option) => option.value, (option) => h("button.reading", {
        type: "button", onclick: () => this.set({ [one.key ?? `answers.${one.code}`]: option.value }),
      }, option.thumb ? h("img", { src: option.thumb, alt: "" }) : h("span.no-thumb", {}, words.asks.none),
      h("span", {})), (button, option) => {
        const image = button.querySelector("img");
        if (image && option.thumb) mark(image, { src: option.thumb });
        put(button.lastChild, option.text);
        mark(button, { "aria-pressed": String(option.value === one.chosen), "aria-label": words.asks.take(option.text) });
      });
    });
  }
}
