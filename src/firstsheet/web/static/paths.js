// A path field that goes on by itself: completion inside the folders the person allowed.

import { api } from "./api.js";
import { bytesWords, calm, h, keyed, mark, put, say, uid } from "./dom.js";
import { words } from "./words.js";

export class PathField {
  /** `chosen(path)` hears a picture or ticket. */
  constructor({ chosen, refused }) {
    Object.assign(this, { chosen, refused, at: -1, entries: [] });
    const id = uid();
    this.list = h("ul.paths", { id, role: "listbox", "aria-label": words.start.path, hidden: true });
    this.input = h("input.path-input", {
      type: "text", role: "combobox", "aria-expanded": "false", "aria-controls": id,
      "aria-autocomplete": "list", "aria-label": words.start.path, autocomplete: "off",
      spellcheck: "false", placeholder: words.start.pathHint,
      oninput: () => { this.entries = []; this.at = -1; this.soon(); },
      onfocus: () => { if (!this.quiet) this.ask(); },
      onclick: () => { if (this.list.hidden) this.ask(); },
      onkeydown: (event) => this.key(event),
      onblur: () => setTimeout(() => this.fold(), 150),
    });
    this.node = h("div.path-field", {}, this.input, this.list);
    this.soon = calm(() => this.ask(), 60);
  }

  /** Stand ready for typing, without unfolding anything yet. */
  begin() {
    this.quiet = true;
    this.input.focus({ preventScroll: true });
    this.quiet = false;
  }

  async ask() {
    this.asking?.abort();
    this.asking = new AbortController();
    const typed = this.input.value;
    try {
      const { entries } = await api.paths(typed, this.asking.signal);
      this.show(entries);
      this.list.dataset.answers = typed; // what the list was asked
    } catch (slip) {
      if (slip.name !== "AbortError") this.show([]);
    }
  }

  show(entries) {
    this.entries = entries;
    this.at = -1;
    keyed(this.list, entries, (one) => one.path, (one) => h("li", {
      role: "option", id: uid(), "aria-selected": "false",
      onpointerdown: (event) => event.preventDefault(),
      onclick: () => this.take(one),
    }, h("span.kind", { "aria-hidden": "true" }), h("span.entry", {}), h("span.small.figures", {})),
    (node, one) => {
      mark(node, { class: one.kind });
      put(node.children[1], one.name + (one.kind === "folder" ? "/" : ""));
      put(node.children[2], one.kind === "folder" ? "" : `${words.start[one.kind]}, ${bytesWords(one.size)}`);
    });
    const there = entries.length > 0 && document.activeElement === this.input;
    this.list.hidden = !there;
    mark(this.input, { "aria-expanded": String(there), "aria-activedescendant": null });
    if (there && this.input.value) say(words.start.matches(entries.length));
  }

  fold() {
    if (document.activeElement === this.input) return;
    this.list.hidden = true;
    mark(this.input, { "aria-expanded": "false" });
  }

  go(at) {
    this.at = (at + this.entries.length) % this.entries.length;
    [...this.list.children].forEach((row, n) => mark(row, { "aria-selected": String(n === this.at) }));
    const row = this.list.children[this.at];
    mark(this.input, { "aria-activedescendant": row.id });
    row.scrollIntoView({ block: "nearest" });
  }

  take(entry) {
    if (entry.kind === "folder") {
      this.input.value = `${entry.path}/`;
      this.input.focus();
      this.ask();
      return;
    }
    this.input.value = entry.path;
    this.list.hidden = true;
    mark(this.input, { "aria-expanded": "false" });
    this.chosen(entry.path);
  }

  key(event) {
    const { key } = event;
    if (key === "ArrowDown" && !this.entries.length && this.list.hidden) this.ask();
    else if ((key === "ArrowDown" || key === "ArrowUp") && this.entries.length) {
      if (this.list.hidden) this.show(this.entries);
      this.go(this.at < 0 && key === "ArrowUp" ? -1 : this.at + (key === "ArrowDown" ? 1 : -1));
    } else if (key === "Enter") {
      if (this.at >= 0 && !this.list.hidden) this.take(this.entries[this.at]);
      else if (this.input.value.trim()) this.chosen(this.input.value.trim());
    } else if (key === "Tab" && !event.shiftKey && this.entries.length && !this.list.hidden
      && this.input.value && (this.at >= 0 || this.entries.length === 1)) {
      this.take(this.entries[Math.max(0, this.at)]);
    } else if (key === "Escape" && !this.list.hidden) {
      this.list.hidden = true;
      mark(this.input, { "aria-expanded": "false" });
    } else return;
    event.preventDefault();
  }
}
