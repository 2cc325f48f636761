// Joins the page: routes by the address's hash, one bench with the view of the ticket on it, news
// from the server. Every change goes through `set`; every answer through `take`.

import { api, listen } from "./api.js";
import { DraftPage } from "./draft.js";
import { h, mark, put } from "./dom.js";
import { Start } from "./start.js";
import { Stocks } from "./stocks.js";
import { Top } from "./top.js";
import { words } from "./words.js";

const main = document.getElementById("main");

class Bench {
  constructor() {
    this.id = "";
    this.view = null;
    this.start = { recent: [], allowed: [], stocks: [], screen: {} };
    this.whites = new Map();
    this.line = Promise.resolve();
    this.top = new Top({ undo: () => this.step("undo"), redo: () => this.step("redo") });
    document.getElementById("top").append(this.top.node);
    put(document.querySelector(".skip"), words.skip);
  }

  get screen() { return this.start.screen ?? {}; }

  async begin() {
    try { this.start = await api.start(); } catch (slip) { this.note(slip); }
    addEventListener("hashchange", () => this.route());
    addEventListener("keydown", (event) => this.key(event));
    this.takeDrops();
    this.source = listen((event) => this.hear(event), (there) => this.lineIs(there));
    await this.route();
    document.body.classList.add("there");
    if (this.at === "start") this.startPage.ready();
  }

  // ---- where one is ------------------------------------------------------------------------

  async route() {
    const [, first = "", second = ""] = location.hash.split("/").map(decodeURIComponent);
    if (first === "stocks") {
      this.leave();
      this.stocksPage ??= new Stocks(this);
      this.put("stocks", this.stocksPage.node);
      document.title = `${words.top.stocks} – ${words.name}`;
      try { await this.stocksPage.show(second); } catch (slip) { this.note(slip); }
    } else if (first) {
      await this.openDraft(first);
    } else {
      this.leave();
      this.startPage ??= new Start(this);
      this.put("start", this.startPage.node);
      document.title = words.name;
      try { this.start = await api.start(); } catch (slip) { this.note(slip); }
      this.startPage.show(this.start);
    }
  }

  put(route, node) {
    this.at = route;
    document.body.dataset.at = route;
    if (main.firstChild !== node) {
      main.replaceChildren(node);
      scrollTo(0, 0);
    }
    this.top.where(route);
  }

  leave() {
    if (this.id) this.lastId = this.id;
    this.id = "";
    this.view = null;
  }

  async openDraft(id) {
    if (this.id !== id) {
      this.leave();
      this.id = id;
      this.draftPage = new DraftPage(this);
    }
    this.put("draft", this.draftPage.node);
    await this.refresh();
  }

  // ---- the view ----------------------------------------------------------------------------

  /** Take a View, unless it is older than what is shown. */
  take(view) {
    if (view.id !== this.id) return;
    if (this.view && view.revision < this.view.revision) return;
    this.view = view;
    this.draftPage.update(view);
    this.top.update(view);
  }

  async refresh() {
    const { id } = this;
    if (!id) return;
    try {
      const view = await api.draft(id);
      // News does not take a slip away: it stands, with what was typed, until it is put right.
      if (this.view?.id === id && this.view.revision === view.revision) view.slips = this.view.slips;
      this.take(view);
    } catch (slip) {
      if (id !== this.id) return;
      this.note(slip);
      if (slip.status === 404) location.hash = "#/";
    }
  }

  /** One after the other, so that each change is based on the answer to the last. */
  inLine(work) {
    this.line = this.line.then(work).catch((slip) => this.note(slip));
    return this.line;
  }

  set(changes) {
    const { id } = this;
    return this.inLine(async () => {
      const view = await api.set(id, this.view?.revision ?? 0, changes);
      this.take(view);
      const shown = new Set(view.sentence.map((one) => one.key));
      const elsewhere = Object.entries(view.slips ?? {}).filter(([key]) => !shown.has(key));
      if (elsewhere.length) this.note(elsewhere[0][1]);
    });
  }

  choose(code, index) { return this.inLine(async () => this.take(await api.choose(this.id, code, index))); }

  step(way) {
    if (!this.id) return undefined;
    return this.inLine(async () => this.take(await api[way](this.id)));
  }

  key(event) {
    if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "z" || !this.id) return;
    // A field that is being typed in undoes its own letters first.
    if (document.activeElement?.closest(".field[data-typed], .popup, dialog")) return;
    event.preventDefault();
    this.step(event.shiftKey ? "redo" : "undo");
  }

  // ---- facts that pages share --------------------------------------------------------------

  async whiteOf(stock) {
    if (!stock) return "";
    if (!this.whites.has(stock)) {
      this.whites.set(stock, api.stock(stock)
        .then((one) => (one.stock.facts ? `lab(${one.stock.facts.white_lab.join(" ")})` : ""))
        .catch(() => ""));
    }
    return this.whites.get(stock);
  }

  keepScreen(screen) {
    this.start = { ...this.start, screen };
    api.screen(screen).catch((slip) => this.note(slip));
  }

  // ---- news --------------------------------------------------------------------------------

  hear(event) {
    if (event.type === "draft" && event.id === this.id) {
      if (!this.view || !event.revision || event.revision > this.view.revision) this.inLine(() => this.refreshOnce());
    } else if (event.type === "opening" && event.id === this.id) {
      this.draftPage.opening.lastChild.value = event.share ?? 0;
      if (event.doing) put(this.draftPage.opening.firstChild, event.doing);
      if (event.share >= 1 || event.state) this.inLine(() => this.refreshOnce());
    } else if (event.type === "tiles" && event.id === this.id) this.draftPage.looking.stage.again();
    else if (event.type === "seen" && event.id === this.id) this.draftPage.looking.seenNews(event.share);
    else if (event.type === "compare" && event.id === this.id) this.draftPage.more.compareNews();
    else if (event.type === "stocks" && this.at === "stocks") this.stocksPage.show(this.stocksPage.current);
    else if (event.type === "job") {
      this.draftPage?.making.hear(event);
      if (this.at === "start" && event.state === "done") this.startPage.refresh();
    } else if (event.type === "list" && this.at === "start") this.startPage.refresh();
    else if (event.type === "behind") this.refresh();
  }

  /** Several pieces of news in one moment ask only once. */
  async refreshOnce() {
    if (this.asking) return;
    this.asking = true;
    await new Promise((done) => setTimeout(done, 15));
    this.asking = false;
    await this.refresh();
  }

  lineIs(there) {
    if (there && this.wasGone) {
      this.gone?.remove();
      this.wasGone = false;
      this.refresh();
    } else if (!there && !this.wasGone && !this.waitingLine) {
      this.waitingLine = setTimeout(() => {
        this.waitingLine = 0;
        if (this.source.readyState === 1) return;
        this.wasGone = true;
        this.gone = this.note(words.gone);
      }, 1500);
    }
  }

  /** A note on the table: three sentences of something that went otherwise. */
  note(slip, passing = false) {
    const notes = document.getElementById("notes");
    if ([...notes.children].some((one) => one.dataset.found === slip.found)) return null;
    const note = h("div.note", { role: passing ? "status" : "alert", "data-found": slip.found },
      h("p", {}, h("strong", {}, slip.found), " ", slip.consequence ?? "", " ", h("em", {}, slip.choice ?? "")),
      h("button.plain", { type: "button", onclick: () => note.remove() }, words.common.ok));
    notes.append(note);
    if (passing) setTimeout(() => note.remove(), 8000);
    return note;
  }

  // ---- dropping ----------------------------------------------------------------------------

  takeDrops() {
    const files = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
    addEventListener("dragover", (event) => {
      if (!files(event)) return;
      event.preventDefault();
      mark(document.body, { "data-over": "true" });
      if (this.at === "start") this.startPage.over(true);
    });
    addEventListener("dragleave", (event) => {
      if (event.relatedTarget) return;
      mark(document.body, { "data-over": null });
      this.startPage?.over(false);
    });
    addEventListener("drop", async (event) => {
      if (!files(event)) return;
      event.preventDefault();
      mark(document.body, { "data-over": null });
      const [file] = event.dataTransfer.files;
      if (!file) return;
      if (this.at !== "start") {
        location.hash = "#/";
        await new Promise((done) => addEventListener("hashchange", () => setTimeout(done, 0), { once: true }));
      }
      this.startPage.over(false);
      this.startPage.bring(file);
    });
  }
}

const bench = new Bench();
window.firstsheet = bench;
bench.begin();
