// What was wanted and what is printed at one spot, as a small note beside it.

import { h, put, say } from "./dom.js";
import { words } from "./words.js";

const lab = (colour) => (colour ? `lab(${colour[0]} ${colour[1]} ${colour[2]})` : "");

export class Spot {
  constructor(host, closed) {
    this.host = host;
    this.swatches = ["wanted", "printed"].map((name) => {
      const patch = h("span.patch", {});
      const text = h("span.patch-words", {});
      return { name, patch, text, row: h("div.spot-row", {}, patch, h("span", {}, h("b", {}, words.stage[name]), text)) };
    });
    this.words = h("p", {});
    this.node = h("div.spot", { "data-still": "", hidden: true, role: "group", "aria-label": words.stage.lossUnit },
      h("div.pair-patches", {}, this.swatches.map((one) => one.row)), this.words,
      h("button.plain.close", {
        type: "button", "aria-label": words.stage.spotClose,
        onclick: () => { this.hide(); closed(); host.focus({ preventScroll: true }); },
      }, "×"));
    host.append(this.node);
  }

  wait(at) {
    this.node.classList.add("waiting");
    if (this.node.hidden) this.place(at);
  }

  show(at, answer) {
    this.node.classList.remove("waiting");
    for (const { name, patch, text, row } of this.swatches) {
      const one = answer[name] ?? {};
      row.hidden = false;
      patch.style.backgroundColor = one.swatch || lab(one.lab);
      put(text, one.words ?? "");
    }
    put(this.words, answer.words ?? "");
    this.place(at);
    say(`${words.stage.wanted}: ${answer.wanted?.words ?? ""}. ${words.stage.printed}: `
      + `${answer.printed?.words ?? ""}. ${answer.words ?? ""}`);
  }

  refuse(at, slip) {
    this.node.classList.remove("waiting");
    for (const { row } of this.swatches) row.hidden = true;
    put(this.words, [slip.found, slip.choice].filter(Boolean).join(" "));
    this.place(at);
  }

  place([x, y]) {
    this.node.hidden = false;
    const { clientWidth: w, clientHeight: hh } = this.host;
    const { offsetWidth: nw, offsetHeight: nh } = this.node;
    const left = x + 20 + nw < w ? x + 20 : Math.max(6, x - 20 - nw);
    const top = Math.max(6, Math.min(hh - nh - 6, y - nh / 2));
    this.node.style.left = `${Math.max(6, Math.min(w - nw - 6, left))}px`;
    this.node.style.top = `${top}px`;
  }

  /** Stay beside the place that was read; out of sight with it. */
  follow(at) {
    if (this.node.hidden || !at) return;
    const { clientWidth: w, clientHeight: hh } = this.host;
    const inside = at[0] >= 0 && at[0] <= w && at[1] >= 0 && at[1] <= hh;
    this.node.style.visibility = inside ? "" : "hidden";
    if (inside) this.place(at);
  }

  hide() { this.node.hidden = true; }
}
