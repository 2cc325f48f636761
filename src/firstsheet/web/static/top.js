// The line at the top: where one is, undo and redo, the light of the page and of the table.

import { h, mark, put } from "./dom.js";
import { words } from "./words.js";

const say = words.top;
const light = window.firstsheetLight;

export class Top {
  constructor({ undo, redo }) {
    this.undo = h("button.plain", { type: "button", onclick: undo, "aria-keyshortcuts": "Control+Z" }, say.undo);
    this.redo = h("button.plain", { type: "button", onclick: redo, "aria-keyshortcuts": "Control+Shift+Z" }, say.redo);
    this.steps = h("span.steps", { hidden: true }, this.undo, this.redo);
    this.table = h("input.slide", {
      type: "range", min: "16", max: "240", "aria-label": say.table, title: say.tableHelp,
      oninput: () => {
        light.keep(`table-${light.darkWished() ? "dark" : "light"}`, this.table.value);
      },
    });
    this.look = h("button.plain.look", {
      type: "button",
      onclick: () => {
        light.keep("appearance", light.darkWished() ? "light" : "dark");
      },
    });
    this.all = h("a", { href: "#/" }, say.all);
    this.stocks = h("a", { href: "#/stocks" }, say.stocks);
    this.node = h("div.top", {},
      h("a.name", { href: "#/" }, words.name),
      h("nav", { "aria-label": words.name }, this.all, this.stocks),
      this.steps,
      h("span.light", {}, h("label.table-light", {}, h("span", {}, say.tableShort), this.table), this.look));
    addEventListener("light", () => this.draw());
    this.draw();
  }

  draw() {
    put(this.look, light.darkWished() ? say.day : say.night);
    if (Number(this.table.value) !== light.table()) this.table.value = light.table();
  }

  where(route) {
    mark(this.all, { "aria-current": route === "start" ? "page" : null });
    mark(this.stocks, { "aria-current": route === "stocks" ? "page" : null });
    this.steps.hidden = route !== "draft";
  }

  update(view) {
    this.undo.disabled = !view.undo;
    this.redo.disabled = !view.redo;
  }
}
