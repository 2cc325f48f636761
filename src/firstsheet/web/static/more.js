// Further questions below the table, each asked of the server when it is unfolded: papers side by
// side, the table of sizes, a new scan, and how each number is worked out.

import { api } from "./api.js";
import { h, keyed, mark, put, uid } from "./dom.js";
import { weightMark } from "./findings.js";
import { Choice } from "./listbox.js";
import { words } from "./words.js";

const say = words.more;
const PARTS = ["compare", "sizes", "rescan", "numbers"];
const SIZES_AROUND = 4; // sizes shown at either side of the present one
const round = (number, digits) => Number(number).toFixed(digits);

/** A question that unfolds. `load(view)` fills it, again whenever the plan changed. */
class Unfold {
  constructor(title, load) {
    this.load = load;
    const id = uid();
    this.body = h("div.answer", { id, hidden: true });
    this.button = h("button.question", {
      type: "button", "aria-expanded": "false", "aria-controls": id, onclick: () => this.toggle(),
    }, title);
    this.node = h("section.more-part", {}, h("h2", {}, this.button), this.body);
  }

  toggle() {
    this.body.hidden = !this.body.hidden;
    mark(this.button, { "aria-expanded": String(!this.body.hidden) });
    this.refresh();
  }

  update(view) {
    this.view = view;
    this.refresh();
  }

  async refresh() {
    const { view } = this;
    if (this.body.hidden || !view || view.state !== "ready" || view.measuring) return;
    const key = `${view.id}/${view.plan_digest || view.revision}`;
    if (key === this.key) return;
    this.key = key;
    this.body.classList.add("older");
    if (!this.body.firstChild) this.body.append(h("p.small", {}, words.common.loading));
    try {
      const fill = await this.load(view);
      if (key === this.key) fill(this.body);
    } catch (slip) {
      this.key = null;
      this.body.replaceChildren(h("p.slip", {}, [slip.found, slip.choice].filter(Boolean).join(" ")));
    } finally {
      if (key === this.key) this.body.classList.remove("older");
    }
  }
}

export class More {
  constructor(bench) {
    this.bench = bench;
    this.parts = [
      new Unfold(say.compare, (view) => this.compare(view)),
      new Unfold(say.sizes, (view) => this.sizes(view)),
      new Unfold(say.rescan, (view) => this.rescan(view)),
      new Unfold(say.numbers, (view) => this.numbers(view)),
    ];
    this.node = h("div.more-questions", {}, this.parts.map((one) => one.node));
  }

  update(view) { for (const part of this.parts) part.update(view); }

  /** Unfold one question; gives its node. */
  unfold(name) {
    const part = this.parts[PARTS.indexOf(name)];
    if (part.body.hidden) part.toggle();
    return part.node;
  }

  /** One more paper was measured. */
  compareNews() {
    this.parts[0].key = null;
    this.parts[0].refresh();
  }

  intentWords(intent) {
    const options = this.bench.view.sentence.find((one) => one.key === "colour.intent")?.options ?? [];
    return options.find((one) => one.value === intent)?.text ?? intent;
  }

  value(key) { return this.bench.view.sentence.find((one) => one.key === key)?.value ?? ""; }

  // ---- papers and intents --------------------------------------------------------------------

  async compare(view) {
    const answer = await api.compare(view.id);
    return (body) => {
      if (!this.compareList?.isConnected) {
        this.compareWords = h("p.lead", {});
        this.compareList = h("ul.proofs", {});
        body.replaceChildren(this.compareWords, this.compareList);
      }
      const waiting = answer.rows.length ? `${answer.words} ${say.compareWait}` : say.compareFirst;
      put(this.compareWords, answer.waiting ? waiting : answer.words);
      keyed(this.compareList, answer.rows, (row) => `${row.stock}/${row.intent}`, (row) => h("li.proof", {},
        h("div.small-sheet", {}, h("img", { alt: "", loading: "lazy" })),
        h("h3", {}), h("p.intent", {}), h("p.two.figures", {}), h("p.reason", {}),
        h("button.act", {
          type: "button",
          onclick: () => this.bench.set(row.changes ?? { stock: row.stock, "colour.intent": row.intent }),
        })),
      (node, row) => {
        const [frame, title, intent, two, reason, button] = node.children;
        const [wide, high] = view.picture_px?.[0] ? view.picture_px : [3, 2];
        frame.style.aspectRatio = `${wide} / ${high}`;
        mark(frame.firstChild, { src: row.proof });
        put(title, row.title);
        put(intent, this.intentWords(row.intent));
        put(two, row.figures ?? "");
        put(reason, row.reason ?? "");
        const taken = row.stock === this.value("stock") && row.intent === this.value("colour.intent");
        put(button, taken ? say.taken : say.take);
        button.disabled = taken;
        mark(button, { "aria-label": `${say.take}: ${row.title}, ${row.intent}` });
        node.classList.toggle("taken", taken);
      });
    };
  }

  // ---- sizes -----------------------------------------------------------------------------------

  async sizes(view) {
    const answer = await api.sizes(view.id);
    return (body) => {
      const upright = answer.height_px > answer.width_px;
      const now = this.value("print.sheet");
      const rows = answer.rows.map((row) => h("tr", { "data-now": row.name === now ? "" : null },
        h("th", { scope: "row" }, row.name,
          h("span.small.figures", {}, ` ${Math.round(row.width_mm)} × ${Math.round(row.height_mm)} mm`)),
        h("td.figures", {}, round(row.ppi, 0)),
        h("td", {}, h("b.step", {}, row.step), h("span", {}, row.sentence.startsWith(row.step) ? row.sentence.slice(row.step.length) : ` ${row.sentence}`)),
        h("td", {}, h("button.act", {
          type: "button", "aria-label": `${say.choose}: ${row.name}`,
          onclick: () => this.choose(row),
        }, row.name === now ? say.chosen : say.choose))));
      const largest = answer.largest.map((one) => h("li", {},
        say.upTo(one.step, `${Math.round(one.width_mm)} × ${Math.round(one.height_mm)} mm`, one.ppi)));
      const at = Math.max(0, answer.rows.findIndex((row) => row.name === now));
      const from = Math.max(0, Math.min(at - SIZES_AROUND, rows.length - 2 * SIZES_AROUND - 1));
      const far = rows.filter((_, n) => n < from || n > from + 2 * SIZES_AROUND);
      const drawFar = () => { for (const row of far) row.hidden = !this.allSizes; };
      drawFar();
      const all = h("button.plain", {
        type: "button", "aria-expanded": String(Boolean(this.allSizes)), hidden: !far.length,
        onclick: () => {
          this.allSizes = !this.allSizes;
          drawFar();
          put(all, this.allSizes ? say.fewerSizes : say.allSizes(rows.length));
          mark(all, { "aria-expanded": String(this.allSizes) });
        },
      }, this.allSizes ? say.fewerSizes : say.allSizes(rows.length));
      body.replaceChildren(
        ...this.detailWords(view),
        h("p.lead", {}, say.largest), h("ul.largest.figures", {}, largest),
        h("p.small", {}, say.sizesWords),
        h("div.wide", { tabindex: "0", role: "region", "aria-label": say.sizes },
          h("table.sizes", { "data-upright": upright }, h("thead", {}, h("tr", {},
            say.sizesHead.map((one) => (one ? h("th", { scope: "col" }, one) : h("td", {}))))),
          h("tbody", {}, rows))),
        all,
      );
    };
  }

  /** What the file truly holds, where that was measured: it stands before any table of pixels. */
  detailWords(view) {
    if (!view.detail?.length) return [];
    const less = view.findings.find((one) => one.code === "less-detail-than-pixels");
    return [h("p.detail-verdict", {}, weightMark(less?.weight ?? "fine"), h("span", {},
      view.detail[0], " ", h("span", {}, less ? less.consequence : view.detail.slice(1).join(" ")),
      view.dust_pending ? ` ${say.dustPending}` : null))];
  }

  /** One size chosen: a sheet of that name holds the picture uncut; another is a size of picture. */
  choose(row) {
    const sheets = this.bench.view.sentence.find((one) => one.key === "print.sheet")?.options ?? [];
    const known = sheets.some((one) => one.value === row.name);
    const sheet = known ? row.name : `${Math.round(row.width_mm)}x${Math.round(row.height_mm)}mm`;
    const key = this.bench.view.sentence.find((one) => /^print\.(width|height|long-side)$/.test(one.key))?.key;
    this.bench.set({ "print.sheet": sheet, ...(key ? { [key]: "" } : {}) });
  }

  // ---- rescan ------------------------------------------------------------------------------------

  async rescan(view) {
    const film = view.sentence.find((one) => one.key === "film");
    const present = film?.value || "";
    const answer = present ? (await api.rescan(view.id, present)).answer : null;
    return (body) => {
      if (!this.filmChoice) {
        this.filmChoice = new Choice({ look: "said", taken: (value) => this.bench.set({ film: value }) });
        this.rescanWords = h("p.lead", {});
        this.rescanFacts = h("dl.facts", {});
        body.replaceChildren(h("p.lead", {}, `${say.film} `, this.filmChoice.node), this.rescanWords, this.rescanFacts);
      }
      this.filmChoice.update({
        text: present ? film.text : say.filmNone, value: present, options: film?.options ?? [],
        title: say.film, free: true,
      });
      put(this.rescanWords, answer ? answer.sentence : say.rescanAsk);
      const facts = answer ? [
        [say.spi, round(answer.needed_spi, 0)], [say.now, `${round(answer.present_spi, 0)} spi`],
        [say.pixels, `${answer.width_px} × ${answer.height_px}`],
        [say.weight8, `${round(answer.bytes_8bit / 1e6, 0)} MB`],
        [say.weight16, `${round(answer.bytes_16bit / 1e6, 0)} MB`],
      ] : [];
      this.rescanFacts.replaceChildren(...facts.map(([name, value]) =>
        h("div", {}, h("dt", {}, name), h("dd.figures", {}, value))));
    };
  }

  // ---- numbers -----------------------------------------------------------------------------------

  async numbers(view) {
    return (body) => {
      if (!this.figures?.isConnected) {
        this.figures = h("div.worked", {});
        body.replaceChildren(this.figures);
      }
      keyed(this.figures, view.figures, (one) => one.key, () => h("details.figure", {},
        h("summary", {}, h("span", {}), h("b.figures", {})),
        h("dl", {}, h("dt", {}, say.formula), h("dd", {}), h("dt", {}, say.inputs), h("dd.inputs.figures", {}),
          h("dt", {}, say.from), h("dd", {}))),
      (node, one) => {
        put(node.children[0].children[0], one.label);
        put(node.children[0].children[1], one.value);
        const [, formula, , inputs, , source] = node.children[1].children;
        put(formula, one.how.formula);
        put(inputs, one.how.inputs.map((input) => `${input.name} ${input.value}`).join(" · "));
        put(source, one.how.source);
      });
    };
  }
}
