// The ticket as a sentence. Keeps its nodes: a re-plan only changes their text.

import { h, keyed, mark, put } from "./dom.js";
import { Field, fieldKeys } from "./field.js";
import { Choice } from "./listbox.js";
import { words } from "./words.js";

export class Sentence {
  /** `set(changes)` gives a promise. */
  constructor(set) {
    this.set = set;
    this.plain = h("p.sentence", { "aria-label": words.sentence.label });
    this.fine = h("p.sentence.fine", { id: "fine-words", hidden: true });
    this.moreButton = h("button.plain.more", {
      type: "button", "aria-expanded": "false", "aria-controls": "fine-words",
      onclick: () => this.unfold(this.fine.hidden),
    }, words.sentence.more);
    this.slips = h("div.slips", { role: "alert" });
    this.node = h("section.wish", { "aria-label": words.sentence.label },
      fieldKeys(), this.plain, this.fine, this.moreButton, this.slips);
    this.parts = new WeakMap();
    this.named = {};
  }

  unfold(there) {
    this.fine.hidden = !there;
    mark(this.moreButton, { "aria-expanded": String(there) });
    put(this.moreButton, there ? words.sentence.fewer : words.sentence.more);
  }

  update(view) {
    this.view = view;
    const fine = view.sentence.filter((one) => one.fine);
    this.draw(this.plain, view.sentence.filter((one) => !one.fine), view.slips ?? {});
    this.draw(this.fine, fine, view.slips ?? {});
    this.moreButton.hidden = !fine.length;
    this.drawSlips(view.slips ?? {});
  }

  draw(line, segments, slips) {
    let n = 0;
    const keyOf = (one) => (one.key ? `${one.key}/${one.kind}` : `words ${(n += 1)}`);
    keyed(line, segments, keyOf, (one) => this.make(one), (node, one) => {
      if (!one.key) { put(node, one.text); return; }
      const part = this.parts.get(node);
      part.update({
        text: one.text, value: one.value ?? "", options: one.options ?? [], title: one.title || one.key,
        unit: one.unit === "free" ? "" : one.unit, free: one.unit === "free",
        bad: slips[one.key] ? `slip-${one.key.replace(".", "-")}` : "",
      });
    });
  }

  make(one) {
    if (!one.key) return h("span.word");
    const taken = (value) => this.set({ [one.key]: value });
    const part = one.kind === "choice" ? new Choice({ taken, look: "said" }) : new Field({ taken });
    part.dropped = () => this.drawSlips({});
    part.node.dataset.key = one.key;
    this.parts.set(part.node, part);
    return part.node;
  }

  drawSlips(slips) {
    keyed(this.slips, Object.entries(slips), ([key]) => key,
      ([key]) => h("p.slip", { id: `slip-${key.replace(".", "-")}` },
        h("strong", {}), " ", h("span", {}), " ", h("em", {})),
      (node, [, slip]) => {
        put(node.children[0], slip.found);
        put(node.children[1], slip.consequence);
        put(node.children[2], slip.choice);
      });
  }
}
