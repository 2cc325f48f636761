// A quiet list to choose from: a button that opens a listbox, by pointer, keys or typing ahead.
// With `free`, the choice can also be written as it would stand in a ticket.

import { h, keyed, mark, put, uid } from "./dom.js";
import { words } from "./words.js";

let open = null; // the one listbox that is open

export class Choice {
  /** `taken(value)` hears the choice. `look`: further class names of the button. */
  constructor({ taken, look = "" }) {
    this.taken = taken;
    this.list = uid();
    this.node = h("button.choice", {
      type: "button", "aria-haspopup": "listbox", "aria-expanded": "false", "aria-controls": this.list,
      onclick: () => (open === this ? this.close() : this.show()),
      onkeydown: (event) => {
        if ((event.key === "ArrowDown" || event.key === "ArrowUp") && open !== this) {
          event.preventDefault();
          this.show();
        }
      },
    });
    if (look) this.node.classList.add(...look.split(" "));
  }

  update({ text, value, options, title, free = false }) {
    Object.assign(this, { value, options, title, free });
    put(this.node, text);
    mark(this.node, { "aria-label": `${title}: ${text}`, title });
    if (open === this) this.drawOptions();
  }

  // ---- open --------------------------------------------------------------------------------

  show() {
    open?.close();
    open = this;
    this.at = Math.max(0, this.options.findIndex((one) => one.value === this.value));
    this.rows = h("div.options", {
      id: this.list, role: "listbox", tabindex: "-1", "aria-label": words.sentence.choices(this.title),
      onkeydown: (event) => this.key(event),
    });
    this.panel = h("div.popup", { popover: "manual" }, this.rows);
    if (this.free) this.panel.append(this.freeField());
    document.body.append(this.panel);
    this.drawOptions();
    this.panel.showPopover?.();
    this.place();
    mark(this.node, { "aria-expanded": "true" });
    this.rows.focus({ preventScroll: true });
    this.inSight();
    this.away = (event) => {
      if (!this.panel.contains(event.target) && event.target !== this.node) this.close(false);
    };
    this.follow = () => this.place();
    addEventListener("pointerdown", this.away, true);
    addEventListener("scroll", this.follow, true);
    addEventListener("resize", this.follow);
    this.panel.addEventListener("focusout", (event) => {
      if (event.relatedTarget && !this.panel.contains(event.relatedTarget)
        && event.relatedTarget !== this.node) this.close(false);
    });
  }

  freeField() {
    const field = h("input.free", {
      type: "text", "aria-label": words.sentence.freeTitle(this.title),
      placeholder: words.sentence.free, autocomplete: "off", spellcheck: "false",
      onkeydown: (event) => {
        if (event.key === "Enter" && field.value.trim()) this.take(field.value.trim());
        else if (event.key === "Escape") this.close();
        else return;
        event.preventDefault();
        event.stopPropagation();
      },
    });
    return h("div.free-row", {}, field, h("button.plain", {
      type: "button", onclick: () => field.value.trim() && this.take(field.value.trim()),
    }, words.sentence.take));
  }

  drawOptions() {
    keyed(this.rows, this.options, (one) => one.value, (one) => h("div.option", {
      role: "option", id: uid(),
      onpointermove: () => this.go(this.options.findIndex((other) => other.value === one.value), false),
      onclick: () => this.take(one.value),
    }), (node, one) => {
      put(node, one.text);
      mark(node, { "aria-selected": one.value === this.value ? "true" : "false" });
    });
    this.go(this.at, false);
  }

  go(at, scroll = true) {
    this.at = Math.max(0, Math.min(this.options.length - 1, at));
    [...this.rows.children].forEach((row, n) => row.classList.toggle("at", n === this.at));
    const row = this.rows.children[this.at];
    if (row) mark(this.rows, { "aria-activedescendant": row.id });
    if (scroll) this.inSight();
  }

  inSight() { this.rows.children[this.at]?.scrollIntoView({ block: "nearest" }); }

  key(event) {
    const steps = { ArrowDown: 1, ArrowUp: -1, PageDown: 8, PageUp: -8 };
    if (event.key in steps) this.go(this.at + steps[event.key]);
    else if (event.key === "Home") this.go(0);
    else if (event.key === "End") this.go(this.options.length - 1);
    else if (event.key === "Enter" || event.key === " ") this.take(this.options[this.at]?.value);
    else if (event.key === "Escape") this.close();
    else if (event.key === "Tab" && !(this.free && !event.shiftKey)) { this.close(); return; }
    else if (event.key.length === 1 && !event.ctrlKey && !event.metaKey) this.ahead(event.key);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  ahead(letter) {
    const now = performance.now();
    this.typed = now - (this.typedAt ?? 0) < 700 ? this.typed + letter : letter;
    this.typedAt = now;
    const wanted = this.typed.toLowerCase();
    const begin = this.typed.length > 1 ? this.at : this.at + 1;
    for (let n = 0; n < this.options.length; n += 1) {
      const at = (begin + n) % this.options.length;
      if (this.options[at].text.toLowerCase().startsWith(wanted)) { this.go(at); return; }
    }
  }

  take(value) {
    const same = value === this.value;
    this.close();
    if (value !== undefined && !same) this.taken(value);
  }

  close(back = true) {
    if (open !== this) return;
    open = null;
    removeEventListener("pointerdown", this.away, true);
    removeEventListener("scroll", this.follow, true);
    removeEventListener("resize", this.follow);
    const panel = this.panel;
    this.panel = null;
    panel.remove();
    mark(this.node, { "aria-expanded": "false" });
    if (back) this.node.focus({ preventScroll: true });
  }

  place() {
    if (!this.panel) return;
    const at = this.node.getClientRects()[0] ?? this.node.getBoundingClientRect();
    const [w, hh] = [innerWidth, innerHeight];
    const below = hh - at.bottom - 16, above = at.top - 16;
    const up = below < 220 && above > below;
    this.rows.style.maxHeight = `${Math.min(380, Math.max(140, (up ? above : below) - (this.free ? 56 : 8)))}px`;
    const { offsetWidth: pw, offsetHeight: ph } = this.panel;
    this.panel.style.left = `${Math.max(8, Math.min(w - pw - 8, at.left - 14))}px`;
    this.panel.style.top = `${up ? Math.max(8, at.top - ph - 6) : at.bottom + 6}px`;
  }
}
