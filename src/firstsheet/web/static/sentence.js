// The ticket as a sentence. Keeps its nodes: a re-plan only changes their text.

import { h, keyed, mark, put } from "./dom.js";
import { Field, fieldKeys } from "./field.js";
import { Choice } from "./listbox.js";
import { words } from "./words.js";

const slipId = (key) => `slip-${key.replace(".", "-")}`;

/** A full stop or comma stays with the word before it, whatever the width of the window. */
function tied(segments) {
  const all = segments.map((one) => ({ ...one, stop: "" }));
  if (all.length && !all[0].key) all[0].text = all[0].text.trimStart();
  all.forEach((one, n) => {
    const found = !one.key && n > 0 && all[n - 1].key && /^[,.;:]+/.exec(one.text);
    if (!found) return;
    all[n - 1].stop = found[0];
    one.text = one.text.slice(found[0].length);
  });
  return all;
}

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
      fieldKeys(), h("div.said-first", {}, this.plain, " ", this.moreButton), this.fine, this.slips);
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
    keyed(line, tied(segments), keyOf, (one) => this.make(one), (node, one) => {
      if (!one.key) { put(node, one.text); return; }
      put(node.lastChild, one.stop);
      this.parts.get(node).update({
        text: one.text, value: one.value ?? "", options: one.options ?? [], title: one.title || one.key,
        length: one.kind === "length", unit: one.unit === "free" ? "" : one.unit, free: one.unit === "free",
        bad: slips[one.key] ? slipId(one.key) : "",
      });
    });
  }

  make(one) {
    if (!one.key) return h("span.word");
    const taken = (value) => this.set({ [one.key]: value });
    const part = one.kind === "choice" ? new Choice({ taken, look: "said" }) : new Field({ taken });
    part.dropped = () => { this.view.slips = {}; this.drawSlips({}); };
    part.node.dataset.key = one.key;
    const node = h("span.tie", {}, part.node, h("span", {}));
    this.parts.set(node, part);
    return node;
  }

  drawSlips(slips) {
    keyed(this.slips, Object.entries(slips), ([key]) => key,
      ([key]) => h("p.slip", { id: slipId(key) },
        h("strong", {}), " ", h("span", {}), " ", h("em", {})),
      (node, [, slip]) => {
        put(node.children[0], slip.found);
        put(node.children[1], slip.consequence);
        put(node.children[2], slip.choice);
      });
  }
}
