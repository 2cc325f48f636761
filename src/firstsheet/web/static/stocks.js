// Stocks: the papers known here, their facts and plots, adding, editing, removing.

import { api } from "./api.js";
import { dialog } from "./dialog.js";
import { h, keyed, mark, put, say as tell } from "./dom.js";
import { GamutPlots } from "./gamut.js";
import { Choice } from "./listbox.js";
import { words } from "./words.js";

const say = words.stocks;
const round = (number, digits = 1) => Number(number).toFixed(digits);

export class Stocks {
  constructor(bench) {
    this.bench = bench;
    this.list = h("ul.stock-list", {});
    this.leftOut = h("ul.left-out", {});
    this.detail = h("div.stock-detail", {});
    this.node = h("div.stocks", {},
      h("div.stock-side", {}, h("h1", {}, say.title), h("p.small", {}, say.intro), this.list, this.leftOut,
        h("button.act", { type: "button", onclick: () => this.add() }, say.add)),
      this.detail);
  }

  /** Show one paper, or the first; of several calls in one moment the last one counts. */
  async show(name) {
    const turn = this.turn = (this.turn ?? 0) + 1;
    this.current = name;
    const [{ stocks, findings }, start] = await Promise.all([api.stocks(), api.start()]);
    if (turn !== this.turn) return;
    this.bench.start = start;
    const wanted = stocks.some((one) => one.name === name) ? name : stocks[0]?.name;
    keyed(this.list, stocks, (one) => one.name,
      (one) => h("li", {}, h("a", { href: `#/stocks/${one.name}` }, h("b", {}), h("span.small", {}))),
      (node, one) => {
        const link = node.firstChild;
        put(link.firstChild, one.title);
        put(link.lastChild, `${say.surfaces[one.surface] ?? one.surface}, ${one.native_ppi} ppi`);
        mark(link, { "aria-current": one.name === wanted ? "page" : null });
      });
    keyed(this.leftOut, findings, (one) => one.found, () => h("li.small", {}),
      (node, one) => put(node, [one.found, one.consequence, ...one.choices].join(" ")));
    if (wanted) await this.open(wanted);
  }

  async open(name) {
    const { turn } = this;
    const answer = await api.stock(name);
    if (turn !== this.turn) return;
    const { stock, builtin } = answer;
    const { facts } = stock;
    const lab = (one) => `L* ${round(one[0])}, a* ${round(one[1])}, b* ${round(one[2])}`;
    const rows = [
      [say.surface, say.surfaces[stock.surface] ?? stock.surface],
      [say.ppi, `${stock.native_ppi} ppi`],
      [say.setting, stock.media_setting],
    ];
    if (facts) {
      rows.push(
        [say.white, `${lab(facts.white_lab)}, ${say.density} ${round(facts.white_density, 2)}`],
        [say.black, `${lab(facts.black_lab)}, ${say.density} ${round(facts.black_density, 2)}`],
        [say.contrast, `${round(facts.contrast, 0)} : 1`],
        [say.volume, `${Math.round(facts.gamut_volume).toLocaleString("en")} ${say.volumeUnit}`],
        [say.noise, `ΔE00 ${round(facts.floor_p95_de00, 2)} (95 %)`],
      );
      for (const one of facts.intents.filter((other) => other.intent !== "relative")) {
        rows.push([say.intentNames[one.intent] ?? one.intent, !one.has_table && one.intent !== "absolute" ? say.intentsNone
          : one.same_as ? say.intentSame(one.same_as)
            : say.intentFar(round(one.mean_de00_from_relative), round(one.max_de00_from_relative))]);
      }
    }
    this.plots ??= new GamutPlots();
    const picture = this.picture();
    this.detail.replaceChildren(
      h("h2.stock-title", {}, facts && this.patch(facts), stock.title, h("code.small", {}, ` ${stock.name}`)),
      ...(builtin ? [h("p.small", {}, say.builtin)] : []),
      h("h3", {}, `${say.gamut} `, picture.node),
      this.plots.node,
      h("dl.facts.stock-facts", {}, rows.filter(([, value]) => value).map(([key, value]) =>
        h("div", {}, h("dt", {}, key), h("dd.figures", {}, value)))),
      builtin ? stock.notes && h("p", {}, stock.notes) : this.editor(stock),
    );
    this.showGamut(stock.name);
  }

  patch(facts) {
    const node = h("span.white-patch", { "aria-hidden": "true" });
    node.style.backgroundColor = `lab(${facts.white_lab.join(" ")})`;
    const ink = h("span", {});
    ink.style.backgroundColor = `lab(${facts.black_lab.join(" ")})`;
    node.append(ink);
    return node;
  }

  picture() {
    const options = [{ value: "", text: say.noPicture },
      ...this.bench.start.recent.map((one) => ({ value: one.id, text: one.title || one.name }))];
    this.against ??= this.bench.lastId && options.some((one) => one.value === this.bench.lastId)
      ? this.bench.lastId : (options[1]?.value ?? "");
    const choice = new Choice({ look: "said", taken: (value) => { this.against = value; this.open(this.current); } });
    choice.update({
      text: options.find((one) => one.value === this.against)?.text ?? say.noPicture,
      value: this.against, options, title: say.gamut,
    });
    return choice;
  }

  async showGamut(name) {
    this.current = name;
    try {
      const data = await api.gamut(name, this.against);
      if (this.current === name) this.plots.show(data);
    } catch (slip) {
      this.bench.note(slip);
    }
  }

  // ---- editing ---------------------------------------------------------------------------------

  editor(stock) {
    const m = stock.margins;
    const margins = h("input", {
      type: "text", value: [m.top, m.right, m.bottom, m.left].map((one) => `${one} mm`).join(", "), size: "30",
    });
    const notes = h("textarea", { rows: "3" }, stock.notes);
    const media = h("input", { type: "text", value: stock.media_setting, size: "30" });
    return h("form.edit", {
      onsubmit: async (event) => {
        event.preventDefault();
        try {
          await api.editStock(stock.name, { margins: margins.value, notes: notes.value, media_setting: media.value });
          tell(say.kept);
          this.bench.note({ found: say.kept }, true);
          this.show(stock.name);
        } catch (slip) { this.bench.note(slip); }
      },
    },
    h("label", {}, say.margins, margins), h("label", {}, say.media, media), h("label", {}, say.notes, notes),
    h("div.acts", {}, h("button.main", {}, say.keep),
      h("button.plain", { type: "button", onclick: () => this.remove(stock) }, say.remove)));
  }

  remove(stock) {
    dialog(say.remove, [h("p", {}, say.removeSure(stock.title))], {
      text: say.yes,
      run: async () => {
        try {
          await api.removeStock(stock.name);
          location.hash = "#/stocks";
          this.show("");
        } catch (slip) { this.bench.note(slip); }
      },
    }, say.no);
  }

  add() {
    let file = null;
    const take = (one) => {
      if (!one) return;
      file = one;
      put(chosen, one.name);
      this.guess(one, name, title);
    };
    const picked = h("input.unseen", {
      type: "file", accept: ".icc,.icm", tabindex: "-1", "aria-hidden": "true", onchange: () => take(picked.files[0]),
    });
    const chosen = h("span.path", { role: "status" }, say.drop);
    const pickFile = h("div.pick-file", {
      ondragover: (event) => { event.preventDefault(); event.stopPropagation(); },
      ondrop: (event) => { event.preventDefault(); event.stopPropagation(); take(event.dataTransfer.files[0]); },
    }, h("button.act", { type: "button", onclick: () => picked.click() }, say.profile), " ", chosen, picked);
    const name = h("input", { type: "text", size: "24", spellcheck: "false" });
    const title = h("input", { type: "text", size: "24" });
    let surface = "matte", ppi = "360";
    const pick = (options, now, label, taken) => {
      const choice = new Choice({ look: "said", taken: (value) => { taken(value); draw(value); } });
      const draw = (value) => choice.update({
        text: options.find((one) => one.value === value).text, value, options, title: label,
      });
      draw(now);
      return h("span.label", {}, label, " ", choice.node);
    };
    const margins = h("input", { type: "text", value: "3 mm", size: "24" });
    const media = h("input", { type: "text", size: "24" });
    const notes = h("textarea", { rows: "2" });
    const wrong = h("p.slip", { role: "alert", hidden: true });
    const replace = h("button.act", { type: "button", hidden: true, onclick: () => keep(true) }, say.replace);
    const keep = async (over) => {
      wrong.hidden = replace.hidden = true;
      try {
        if (!file) throw Object.assign(new Error(), say.noFile);
        await api.addStock(file, {
          name: name.value.trim(), title: title.value.trim(), surface, native_ppi: ppi,
          margins: margins.value, media_setting: media.value, notes: notes.value, replace: String(over),
        });
        box.close();
        location.hash = `#/stocks/${name.value.trim()}`;
        this.show(name.value.trim());
      } catch (slip) {
        wrong.hidden = false;
        replace.hidden = slip.code !== "stock-exists";
        put(wrong, [slip.found, slip.consequence, replace.hidden ? slip.choice : say.replaceChoice]
          .filter(Boolean).join(" "));
      }
    };
    const box = h("dialog.over", { "aria-label": say.add, onclose: () => box.remove() },
      h("h2", {}, say.add),
      h("form.edit", {
        onsubmit: (event) => { event.preventDefault(); keep(false); },
      },
      pickFile, h("label", {}, say.nameOf, name), h("label", {}, say.titleOf, title),
      pick(Object.entries(say.surfaces).map(([value, text]) => ({ value, text })), surface, say.surface, (value) => { surface = value; }),
      pick(["300", "360", "600", "720"].map((value) => ({ value, text: `${value} ppi` })), ppi, say.ppi, (value) => { ppi = value; }),
      h("label", {}, say.margins, margins), h("label", {}, say.media, media), h("label", {}, say.notes, notes),
      wrong, replace,
      h("div.acts", {}, h("button.main", {}, say.keep),
        h("button.plain", { type: "button", onclick: () => box.close() }, words.common.close))));
    document.body.append(box);
    box.showModal();
  }

  guess(file, name, title) {
    if (!file) return;
    const stem = file.name.replace(/\.[^.]+$/, "");
    if (!title.value) title.value = stem.replace(/[_-]+/g, " ");
    if (!name.value) name.value = stem.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "");
  }
}
