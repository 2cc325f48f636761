// Sentences whose numbers open how they are worked out: formula, inputs, source, in place.

import { bound, h, keyed, mark, put, uid } from "./dom.js";
import { words } from "./words.js";

const say = words.more;

/** A stop or comma stays on the line of the number before it. */
function tied(parts) {
  const all = parts.map((one) => ({ ...one, stop: "" }));
  all.forEach((one, n) => {
    const found = !one.key && n > 0 && all[n - 1].key && /^[,.;:)]+/.exec(one.text);
    if (!found) return;
    all[n - 1].stop = found[0];
    one.text = one.text.slice(found[0].length);
  });
  return all;
}

/** Parts of a text up to `length` letters, and the rest. */
export function splitParts(parts, length) {
  const first = [], rest = [];
  let at = 0;
  for (const one of parts) {
    const cut = Math.max(0, Math.min(one.text.length, length - at));
    if (cut) first.push({ ...one, text: one.text.slice(0, cut) });
    if (cut < one.text.length) rest.push({ ...one, text: one.text.slice(cut) });
    at += one.text.length;
  }
  return [first, rest];
}

export class Worked {
  constructor() {
    const id = uid();
    this.key = "";
    this.figures = new Map();
    this.texts = new Set();
    this.label = h("b", {});
    this.value = h("span.figures", {});
    this.ways = ["formula", "inputs", "source"].map(() => h("dd", {}));
    this.node = h("div.how", { id, hidden: true },
      h("p.how-head", {}, this.label, this.value),
      h("dl", {}, [say.formula, say.inputs, say.from].map((name, n) => h("div", {}, h("dt", {}, name), this.ways[n]))));
    this.node.addEventListener("keydown", (event) => this.leave(event));
  }

  /** The figures that numbers may name. */
  know(figures) {
    this.figures = new Map(figures.map((one) => [one.key, one]));
    if (this.key) this.show(this.figures.has(this.key) ? this.key : "");
  }

  /** Write a text into `node`; its known numbers become buttons. */
  write(node, parts, text) {
    this.texts.add(node);
    const all = tied((parts?.length ? parts : [{ text: text ?? "", key: "" }])
      .map((one, n) => ({ ...one, n, key: this.figures.has(one.key) ? one.key : "" })));
    keyed(node, all, (one) => `${one.n}${one.key ? "#" : ""}`,
      (one) => (one.key
        ? h("span.tie", {}, h("button.number", {
          type: "button", "aria-controls": this.node.id, "aria-expanded": "false",
          onclick: (event) => this.toggle(event.currentTarget.dataset.key),
          onkeydown: (event) => this.leave(event),
        }), h("span", {}))
        : h("span", {})),
      (part, one) => {
        if (!one.key) { put(part, bound(one.text)); return; }
        const [number, stop] = part.children;
        put(number, bound(one.text));
        put(stop, one.stop);
        number.dataset.key = one.key;
        mark(number, {
          title: words.findings.worked, "aria-expanded": String(one.key === this.key),
          "aria-label": `${one.text}: ${words.findings.worked}`,
        });
      });
  }

  leave(event) {
    if (event.key !== "Escape" || !this.key) return;
    event.stopPropagation();
    this.show("");
  }

  toggle(key) { this.show(key === this.key ? "" : key); }

  show(key) {
    this.key = key;
    const one = this.figures.get(key);
    this.node.hidden = !one;
    for (const text of this.texts) {
      for (const number of text.querySelectorAll("button.number")) {
        mark(number, { "aria-expanded": String(number.dataset.key === key) });
      }
    }
    if (!one) return;
    put(this.label, one.label[0].toUpperCase() + one.label.slice(1));
    put(this.value, bound(one.value));
    put(this.ways[0], one.how.formula);
    put(this.ways[1], one.how.inputs.map((input) => bound(`${input.name}: ${input.value}`)).join(" · "));
    put(this.ways[2], one.how.source);
    this.ways[1].parentElement.hidden = !one.how.inputs.length;
  }
}
