// The verdict and the making: estimate, progress with stop, links to what was made.

import { api } from "./api.js";
import { dialog } from "./dialog.js";
import { h, keyed, mark, put, say as tell } from "./dom.js";
import { words } from "./words.js";
import { Worked, splitParts } from "./worked.js";

const say = words.make;

export class Making {
  constructor(bench) {
    this.bench = bench;
    this.verdict = h("p.verdict", {});
    this.verdictMore = h("p.verdict-more", {});
    this.worked = new Worked();
    this.estimate = h("p.estimate.figures", {});
    this.button = h("button.main", { type: "button", onclick: () => this.begin(false) }, say.button);
    this.bar = h("progress", { max: "1", "aria-label": say.working });
    this.doing = h("span.doing.figures", { role: "status" });
    this.stopButton = h("button.plain", { type: "button", onclick: () => this.stop() }, say.stop);
    this.work = h("div.work", { hidden: true }, h("div.line", {}, this.doing, this.stopButton), this.bar);
    this.links = h("ul.made", {});
    this.folder = h("p.small.path", {});
    this.sheetButton = h("button.act", { type: "button", hidden: true, onclick: () => this.showSheet() }, say.look);
    this.result = h("div.result", { hidden: true }, h("p.made-words.path", {}), this.sheetButton, this.links, this.folder,
      h("p.small", {}, say.caution));
    this.problem = h("p.slip", { hidden: true, role: "alert" },
      h("strong", {}), " ", h("span", {}), " ", h("em", {}));
    this.again = h("div.choices", { hidden: true },
      h("button.act", { type: "button", onclick: () => this.begin(true) }, say.replace),
      h("button.act", { type: "button", onclick: () => this.begin(false, this.beside()) }, say.beside));
    this.before = h("p.small.path", { hidden: true });
    this.ticket = h("a.small-link", { download: "" }, say.ticket);
    this.node = h("section.making", { "aria-label": say.title }, this.verdict, this.verdictMore,
      this.worked.node, this.button,
      this.estimate, this.work, this.problem, this.again, this.result, this.before, this.ticket);
  }

  update(view) {
    if (view.verdict) {
      const [, first, rest] = /^(.*?[.!?])(?:\s+(?=\p{Lu}|\d)(.*))?$/su.exec(view.verdict) ?? [0, view.verdict, ""];
      const parts = splitParts(view.verdict_parts ?? [], first.length);
      this.worked.know(view.figures);
      this.worked.write(this.verdict, parts[0], first);
      // What a finding says below is not said twice.
      const again = view.findings.some((one) => one.weight !== "fine" && rest?.includes(one.found));
      this.worked.write(this.verdictMore, again ? null : parts[1], again ? "" : rest);
      this.verdictMore.hidden = again || !rest;
    } else if (!this.verdict.textContent) this.worked.write(this.verdict, null, words.findings.verdictWait);
    this.verdict.classList.toggle("older", Boolean(view.measuring));
    put(this.estimate, view.estimate?.words ?? "");
    const stops = view.findings.some((one) => one.weight === "stop");
    this.stops = stops;
    this.button.disabled = view.state !== "ready" || Boolean(this.job) || stops;
    mark(this.button, { title: stops ? say.not : null });
    put(this.button, this.made && this.made.digest === view.plan_digest ? say.again : say.button);
    mark(this.ticket, { href: `/api/draft/${view.id}/ticket.toml`, download: `${view.name}.toml` });
    const older = Boolean(this.made && this.made.digest !== view.plan_digest);
    this.result.classList.toggle("older", older);
    put(this.before, older ? say.older : view.made && !this.made ? say.before(view.made) : "");
    this.before.hidden = !this.before.textContent || !this.work.hidden;
    if (view.state === "ready" && !view.measuring && !view.dust_pending) this.resume(view);
  }

  /** What is being made of this ticket, or was made of this very plan, though the page is new. */
  async resume(view) {
    if (this.resumed) return;
    this.resumed = true;
    try {
      const { jobs } = await api.jobs();
      const mine = jobs.flatMap((one) => [one, ...(one.parts ?? [])]).find((one) => one.draft === view.id);
      if (!mine || this.job || this.made) return;
      this.digest = mine.plan_digest || view.plan_digest;
      if (mine.state === "done" && mine.plan_digest === view.plan_digest) this.done(mine);
      else if (["waiting", "working"].includes(mine.state)) this.take(mine.job);
    } catch { /* nothing is said of what was made before, then */ }
  }

  take(job) {
    this.job = job;
    this.button.disabled = true;
    this.work.hidden = false;
    this.before.hidden = true;
    put(this.doing, say.working);
    this.follow();
  }

  /** A folder beside the one that holds an earlier print. */
  beside() {
    this.number = (this.number ?? 1) + 1;
    return `${this.bench.view.folder.split(/[/\\]/).pop()}-${this.number}`;
  }

  /** A print of another plan is never replaced unasked; one of this very plan is the same again. */
  async begin(replace, folder = "") {
    this.problem.hidden = true;
    this.again.hidden = true;
    this.result.hidden = true;
    this.digest = this.bench.view.plan_digest;
    this.button.disabled = true;
    try {
      const same = this.made?.digest === this.digest && !folder;
      const { job } = await api.make(this.bench.id, {
        replace: replace || same, folder: folder || (same ? this.made.folder : ""),
      });
      this.take(job);
    } catch (slip) {
      this.refuse(slip);
    }
  }

  /** News of a job: ours or not. */
  hear(event) {
    if (!this.job || event.job !== this.job) return;
    if (["done", "failed", "stopped"].includes(event.state)) this.ask();
    else this.show(event);
  }

  /** Ask again now and then: an event may be lost with the line. */
  async follow() {
    const job = this.job;
    while (this.job === job && job) {
      await new Promise((done) => setTimeout(done, 900));
      if (this.job !== job) return;
      await this.ask();
    }
  }

  async ask() {
    const { job } = this;
    try {
      const now = await api.job(job);
      if (this.job === job) this.show(now);
    } catch (slip) {
      if (slip.status === 404) this.refuse(slip);
    }
  }

  show(job) {
    if (!this.job) return;
    if (job.doing) put(this.doing, `${job.doing}, ${Math.round((job.share ?? 0) * 100)} %`);
    this.bar.value = job.share ?? 0;
    if (job.state === "done") this.done(job);
    else if (job.state === "failed") this.refuse(job.error ?? words.odd);
    else if (job.state === "stopped") this.refuse({ found: say.stopped });
  }

  end() {
    this.job = null;
    this.work.hidden = true;
    this.button.disabled = this.stops;
  }

  done(job) {
    this.end();
    this.made = { digest: job.plan_digest || this.digest, folder: job.folder };
    this.before.hidden = true;
    put(this.result.firstChild, job.words || say.made);
    this.result.hidden = false;
    this.result.classList.remove("older");
    const place = (name) => (Object.keys(say.files).indexOf(name) + 99) % 99; // unknown ones last
    const files = Object.entries(job.files ?? {}).sort(([a], [b]) => place(a) - place(b));
    keyed(this.links, files, ([name]) => name,
      ([name]) => h("li", {}, h("a", { target: "_blank", rel: "noopener" }, say.files[name] ?? name),
        h("span.small", {}, ` ${name}`)),
      (node, [, address]) => mark(node.firstChild, { href: address }));
    this.sheetButton.hidden = !job.files?.["job-sheet.pdf"];
    this.sheetAt = job.files?.["job-sheet.pdf"];
    const sheet = this.links.querySelector("a[href$='.pdf']")?.closest("li");
    sheet?.classList.add("first");
    put(this.folder, job.folder && !(job.words ?? "").includes(job.folder) ? `${say.folder} ${job.folder}` : "");
    put(this.button, say.again);
    tell(job.words || say.made);
  }

  /** The job sheet, laid over the table. */
  showSheet() {
    const src = `${this.sheetAt}#toolbar=0&navpanes=0&view=FitH`;
    const box = dialog(say.sheet, [h("iframe.job-sheet", { src, title: say.sheet })]);
    box.classList.add("wide-over");
    box.querySelector(".acts button").focus(); // from inside the sheet Escape does not come through
  }

  refuse(slip) {
    this.end();
    this.problem.hidden = false;
    put(this.problem.children[0], slip.found);
    put(this.problem.children[1], slip.consequence ?? "");
    const there = /exist|there-already|replace/.test(slip.code ?? "");
    this.again.firstChild.hidden = !there;
    this.again.hidden = !there && slip.code !== "output-holds-other-files";
    put(this.problem.children[2], this.again.hidden ? slip.choice ?? "" : "");
  }

  async stop() {
    try { await api.stopJob(this.job); } catch (slip) { this.refuse(slip); }
  }
}
