// One ticket on the table: the sentence above, the sheet, findings beside it, questions below.

import { Findings } from "./findings.js";
import { Looking } from "./looking.js";
import { Making } from "./making.js";
import { More } from "./more.js";
import { Sentence } from "./sentence.js";
import { h, put, say as tell } from "./dom.js";
import { words } from "./words.js";

export class DraftPage {
  constructor(bench) {
    this.bench = bench;
    this.title = h("h1.unseen", {});
    this.sentence = new Sentence((changes) => bench.set(changes));
    this.looking = new Looking(bench);
    this.making = new Making(bench);
    this.findings = new Findings({
      choose: (code, index) => bench.choose(code, index), set: (changes) => bench.set(changes),
      go: (part, places) => this.go(part, places),
    });
    this.more = new More(bench);
    this.opening = h("div.opening-now", { role: "status" }, h("p", {}), h("progress", { max: "1" }));
    this.failed = h("div.failed", { role: "alert", hidden: true }, h("h2", {}), h("p", {}), h("p", {}),
      h("p", {}, h("a", { href: "#/" }, words.top.all)));
    this.beside = h("div.beside", {}, this.opening, this.making.node, this.findings.node);
    this.body = h("div.table-and-notes", {}, this.looking.node, this.beside);
    this.node = h("div.draft", {}, this.title, this.sentence.node, this.failed, this.body, this.more.node);
  }

  /** Go to a part of the page that a finding speaks of. */
  go(part, places = []) {
    if (part === "places") return this.visit(places);
    if (part === "cut") this.looking.takeHold("crop");
    const shown = { loss: "loss", cut: "look" }[part];
    const node = shown ? this.looking.show(shown) : this.more.unfold(part);
    const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
    node.scrollIntoView({ block: "nearest", behavior: calm ? "auto" : "smooth" });
    if (part === "cut") return;
    (node.querySelector("[aria-selected=true]") ?? node.querySelector("button")).focus({ preventScroll: true });
  }

  /** One place after the other, up close; the button that leads there keeps the focus. */
  visit(places) {
    const all = JSON.stringify(places);
    this.visited = all === this.visiting ? (this.visited + 1) % places.length : 0;
    this.visiting = all;
    const text = words.findings.place(this.visited + 1, places.length);
    this.looking.visit(places[this.visited], text);
    this.looking.node.scrollIntoView({ block: "nearest" });
    return text;
  }

  update(view) {
    put(this.title, view.name);
    document.title = `${view.name} – ${words.name}`;
    const there = Boolean(view.sheet);
    this.opening.hidden = view.state !== "opening";
    put(this.opening.firstChild, view.doing || words.common.loading);
    this.opening.lastChild.value = view.progress ?? 0;
    const asking = view.state === "asking" && view.error;
    const lost = (view.state === "failed" && view.error) || (asking && !view.questions.length);
    this.failed.hidden = !lost;
    if (lost) {
      put(this.failed.children[0], view.error.found);
      put(this.failed.children[1], view.error.consequence);
      put(this.failed.children[2], view.error.choice);
    }
    this.body.hidden = Boolean(lost) && !there;
    // While only a question stands there, no bare table takes its room.
    this.looking.node.hidden = Boolean(asking) && !there;
    this.body.classList.toggle("asks-first", this.looking.node.hidden);
    this.making.node.hidden = view.state !== "ready";
    this.more.node.hidden = !there;
    this.sentence.update(view);
    this.looking.update(view);
    this.making.update(view);
    this.findings.update(view);
    this.more.update(view);
    if (view.note && view.note !== this.noted) this.bench.note({ found: view.note }, true);
    this.noted = view.note;
    if (view.verdict && view.verdict !== this.said) tell(view.verdict);
    this.said = view.verdict || this.said;
  }
}
