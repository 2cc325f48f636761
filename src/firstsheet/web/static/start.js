// The opening: a bare sheet on the table waits for a picture; below it, what lay there before.

import { api, upload } from "./api.js";
import { bytesWords, h, keyed, mark, put, say as tell } from "./dom.js";
import { weightMark } from "./findings.js";
import { PathField } from "./paths.js";
import { words } from "./words.js";

const say = words.start;
/** Whether what stands in the way is an earlier print in the same folder. */
const isThere = (code) => /exist|there-already|replace/.test(code ?? "");

export class Start {
  constructor(bench) {
    this.bench = bench;
    this.path = new PathField({ chosen: (path) => this.open(path) });
    this.path.input.addEventListener("input", () => { this.problem.hidden = true; });
    this.picked = new Set(); // tickets that were ticked
    this.problem = h("p.slip", { role: "alert", hidden: true },
      h("strong", {}), " ", h("span", {}), " ", h("em", {}));
    this.file = h("input.unseen", {
      type: "file", tabindex: "-1", "aria-label": say.chooseTitle,
      onchange: () => { const [one] = this.file.files; this.file.value = ""; if (one) this.bring(one); },
    });
    this.dropWords = h("span.drop-words", {}, say.drop);
    this.meter = h("progress", { max: "1", value: "0", hidden: true, "aria-label": say.sending("") });
    this.stopButton = h("button.plain", { type: "button", hidden: true, onclick: () => this.sending?.stop() }, say.cancel);
    this.choose = h("button.plain", { type: "button", onclick: () => this.file.click() }, say.choose);
    this.sheet = h("div.bare-sheet", {}, this.dropWords, this.meter, this.choose, this.stopButton, this.file);
    this.allowed = h("p.small", {});
    this.recentList = h("ul.recent", {});
    this.none = h("p.small", {}, say.none);
    this.makeAllButton = h("button.act", { type: "button", hidden: true, onclick: () => this.makeAll(this.wanted) }, say.makeAll);
    this.replaceButton = h("button.act", {
      type: "button", hidden: true, onclick: () => this.makeAll(this.there, true),
    }, words.make.replace);
    this.allWork = h("div.work", { hidden: true }, h("div.line", {}, h("span.doing.figures", { role: "status" }),
      h("button.plain", { type: "button", onclick: () => api.stopJob(this.job) }, words.make.stop)),
    h("progress", { max: "1", "aria-label": words.make.working }), h("ul.made-all", {}), this.replaceButton);
    this.node = h("div.start", {},
      h("section.opening", {}, h("div.opening-words", {}, h("h1", {}, say.title), this.path.node, this.allowed, this.problem),
        this.sheet),
      h("section.before", {}, h("div.line", {}, h("h2", {}, say.recent), this.makeAllButton), this.allWork, this.none, this.recentList),
      h("section.trust", {}, h("div", {}, h("h2", {}, words.colour.title), this.trust = h("p", {}, words.colour.words),
        h("p", {}, words.colour.system)),
      h("div.colour-halves", {}, h("span", {}), h("img.colour-test", { src: "/colour-test.png", alt: words.colour.alt, width: "96", height: "96" }))));
  }

  show(start) {
    this.ready();
    put(this.allowed, say.pathHelp(start.allowed.map((one) => one.path).join(", ")));
    if (start.colour_words) put(this.trust, start.colour_words);
    this.recent(start.recent);
  }

  /** Stand ready for typing, where nothing else is being used. */
  ready() { if (document.activeElement === document.body) this.path.begin(); }

  recent(list) {
    this.ids = list.map((one) => one.id);
    this.none.hidden = list.length > 0;
    this.makeAllButton.hidden = list.length < 2;
    for (const id of this.picked) if (!this.ids.includes(id)) this.picked.delete(id);
    this.drawMakeAll();
    keyed(this.recentList, list, (one) => one.id, (one) => h("li", {},
      h("label.pick", {}, h("input", {
        type: "checkbox",
        onchange: (event) => {
          this.picked[event.target.checked ? "add" : "delete"](one.id);
          this.drawMakeAll();
        },
      }), h("span", { "aria-hidden": "true" })),
      h("a.ticket-link", { href: `#/${one.id}` },
        h("span.thumb", {}, h("img", { alt: "", loading: "lazy", onerror: (event) => { event.target.hidden = true; } })),
        h("span.ticket-words", {}, h("b", {}), h("span.ticket-verdict", {}))),
      h("span.ticket-weight", {}),
      h("button.plain", { type: "button", onclick: () => this.forget(one.id) }, say.forgetShort)),
    (node, one) => {
      const [pick, link, weight, forget] = node.children;
      mark(pick.firstChild, { "aria-label": say.pick(one.title || one.name) });
      pick.firstChild.checked = this.picked.has(one.id);
      const image = link.querySelector("img");
      if (one.thumb) mark(image, { src: one.thumb });
      image.hidden = !one.thumb;
      put(link.children[1].children[0], one.title || one.name);
      put(link.children[1].children[1], /^.*?[.!?](?=\s|$)/su.exec(one.verdict)?.[0] ?? one.verdict);
      const known = words.findings.weight[one.weight] ? one.weight : "";
      weight.replaceChildren(...(known ? [weightMark(known), words.findings.weight[known]] : [say.weight[one.weight] ?? ""]));
      mark(forget, { "aria-label": say.forget(one.title || one.name) });
    });
  }

  /** The tickets that would be made: those that were ticked, or all. */
  get wanted() { return this.picked.size ? this.ids.filter((id) => this.picked.has(id)) : this.ids; }

  drawMakeAll() {
    const n = this.picked.size;
    put(this.makeAllButton, n ? say.makePicked(n) : say.makeAll);
    mark(this.makeAllButton, { "aria-label": n ? null : say.makeAllTitle(this.ids.length) });
  }

  async refresh() {
    try { this.recent((await api.start()).recent); } catch { /* told by the line itself */ }
  }

  async forget(id) {
    try { await api.forget(id); } catch (slip) { this.refuse(slip); }
    this.refresh();
  }

  async open(path) {
    this.problem.hidden = true;
    try {
      const { id } = await api.open(path);
      this.path.input.value = "";
      location.hash = `#/${id}`;
    } catch (slip) {
      this.refuse(slip);
    }
  }

  /** Stream a dropped or chosen file in, then open it. */
  async bring(file) {
    this.problem.hidden = true;
    this.sending?.stop();
    put(this.dropWords, say.sending(file.name));
    this.sheet.classList.add("busy");
    this.meter.hidden = this.stopButton.hidden = false;
    this.choose.hidden = true;
    mark(this.meter, { "aria-label": say.sending(file.name) });
    this.sending = upload(file, (done, all) => {
      this.meter.value = all ? done / all : 0;
      put(this.dropWords, `${say.sending(file.name)}: ${say.sent(Math.floor((100 * done) / (all || 1)), bytesWords(done), bytesWords(all))}`);
    });
    const mine = this.sending;
    try {
      const { path } = await mine.promise;
      await this.open(path);
    } catch (slip) {
      this.refuse(slip);
    } finally {
      if (this.sending === mine) {
        this.sending = null;
        this.meter.hidden = this.stopButton.hidden = true;
        this.choose.hidden = false;
        this.sheet.classList.remove("busy");
        put(this.dropWords, say.drop);
      }
    }
  }

  refuse(slip) {
    this.problem.hidden = false;
    put(this.problem.children[0], slip.found);
    put(this.problem.children[1], slip.consequence ?? "");
    put(this.problem.children[2], slip.choice ?? "");
    tell(slip.found);
  }

  over(there) {
    this.sheet.classList.toggle("over", there);
    if (!this.sending) put(this.dropWords, there ? say.dropNow : say.drop);
  }

  // ---- make all --------------------------------------------------------------------------------

  async makeAll(ids, replace = false) {
    try {
      this.job = (await api.makeAll(ids, replace)).job;
      this.allWork.hidden = false;
      this.replaceButton.hidden = true;
      this.follow();
    } catch (slip) { this.refuse(slip); }
  }

  async follow() {
    const job = this.job;
    for (;;) {
      let now;
      try { now = await api.job(job); } catch (slip) { this.refuse(slip); return; }
      if (this.job !== job) return;
      const [line, bar, list] = this.allWork.children;
      const over = ["done", "failed", "stopped"].includes(now.state);
      put(line.firstChild, over ? now.words || words.make.made : `${now.doing}, ${Math.round(now.share * 100)} %`);
      line.lastChild.hidden = bar.hidden = over;
      bar.value = now.share;
      keyed(list, now.parts ?? [], (one) => one.job, () => h("li", {}, h("b", {}), " ", h("span.path", {})),
        (node, one) => {
          put(node.children[0], one.title || one.draft);
          put(node.children[1], one.error ? `${one.error.found} ${isThere(one.error.code) ? "" : one.error.choice}`
            : one.state === "done" ? one.words || words.make.made
              : one.state === "working" ? `${Math.round(one.share * 100)} %` : "");
        });
      if (over) {
        this.there = (now.parts ?? []).filter((one) => isThere(one.error?.code)).map((one) => one.draft);
        this.replaceButton.hidden = !this.there.length;
        this.refresh();
        return;
      }
      await new Promise((done) => setTimeout(done, 500));
    }
  }
}
