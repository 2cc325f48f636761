// A word that is typed in place: grows with its text, keeps what was typed until it is taken,
// steps its number by arrow keys.

import { calm, h, mark } from "./dom.js";
import { words } from "./words.js";

/** Step in the unit it is written in: [step, with Shift]. */
const STEPS = { mm: [1, 10], cm: [0.1, 1], m: [0.1, 1], in: [0.25, 1], inch: [0.25, 1], lux: [10, 100], ppi: [10, 60] };

/** The text with its first number stepped; null where there is none. */
export function stepped(text, unit, up, big) {
  const found = /^(\s*)(-?\d+(?:[.,]\d+)?)(\s*)([a-zA-Z"″]*)/.exec(text);
  if (!found) return null;
  const [whole, before, digits, gap, written] = found;
  const number = parseFloat(digits.replace(",", "."));
  const steps = STEPS[(written || unit || "").toLowerCase()] ?? [1, 10];
  let step = steps[big ? 1 : 0];
  if ((written || unit) === "lux" && number < 100 && !big) step = 5;
  const digitsKept = Math.max((String(step).split(".")[1] ?? "").length, (digits.split(/[.,]/)[1] ?? "").length);
  const least = number < 0 ? -Infinity : 0; // only a shift is ever below zero
  const next = Math.max(least, number + (up ? step : -step));
  return `${before}${String(+next.toFixed(digitsKept))}${gap}${written}${text.slice(whole.length)}`;
}

/** A bare number in the unit that stood there; the answer shows it, so that nothing is guessed unseen. */
export function withUnit(typed, before) {
  if (!/^[+−-]?\d+(?:[.,]\d+)?$/.test(typed)) return typed;
  const unit = /\d\s*(mm|cm|m|inches|inch|in|feet|foot|ft|["″'′])(?![a-z])/i.exec(before);
  return unit ? `${typed} ${unit[1]}` : typed;
}

export class Field {
  constructor({ taken }) {
    this.taken = taken;
    this.input = h("input", {
      type: "text", autocomplete: "off", spellcheck: "false", autocapitalize: "off", size: "1",
      onfocus: () => this.begin(),
      onblur: () => this.end(),
      oninput: () => { this.touched = true; this.node.dataset.typed = ""; this.grow(); },
      onkeydown: (event) => this.key(event),
    });
    this.node = h("span.field", {}, this.input);
    this.soon = calm(() => this.commit(), 320);
  }

  update({ text, value, title, unit, length = false, bad = "" }) {
    // A narrow window keeps the words and leaves the number to the drawing.
    const short = matchMedia("(max-width: 520px)").matches ? text.replace(/ \(.*\)$/, "") : text;
    Object.assign(this, { text: short, value: value || "", unit, length, bad });
    mark(this.input, {
      "aria-label": title, title,
      "aria-invalid": bad ? "true" : null, "aria-describedby": bad || "sentence-keys",
      inputmode: unit && !length ? "decimal" : null,
    });
    if (bad) return; // what was typed stays until it is put right
    if (document.activeElement !== this.input) this.show(this.text);
    else if (!this.touched && this.input.value !== this.editText()) this.showToType();
  }

  editText() { return this.value; }

  show(text) {
    if (this.input.value !== text) this.input.value = text;
    this.grow();
  }

  grow() { mark(this.node, { "data-text": this.input.value || this.input.placeholder || " " }); }

  begin() {
    this.touched = false;
    if (!this.bad) {
      // While typing, the words give way to what can be typed.
      this.input.placeholder = this.value ? "" : this.text;
      this.showToType();
    }
    // The press that brought the focus sets the caret afterwards; what was typed by then stays.
    requestAnimationFrame(() => {
      if (document.activeElement === this.input && !this.touched) this.input.select();
    });
  }

  /** Whatever is typed next takes the place of what stands there, from this very moment. */
  showToType() {
    this.show(this.editText());
    this.input.select();
  }

  end() {
    this.soon.drop();
    if (this.touched) this.commit();
    this.input.placeholder = "";
    if (!this.bad && !this.waiting) this.show(this.text);
  }

  commit() {
    const typed = this.length ? withUnit(this.input.value.trim(), this.value || this.text) : this.input.value.trim();
    this.touched = false;
    delete this.node.dataset.typed;
    if (typed === this.value && !this.bad) return;
    this.bad = "";
    this.waiting = true;
    Promise.resolve(this.taken(typed)).finally(() => {
      this.waiting = false;
      if (!this.bad && document.activeElement !== this.input) this.show(this.text);
    });
  }

  key(event) {
    if (event.key === "Enter") {
      this.soon.drop();
      this.touched = true;
      this.commit();
      this.input.select();
    } else if (event.key === "Escape") {
      this.soon.drop();
      this.bad = "";
      mark(this.input, { "aria-invalid": null });
      this.touched = false;
      delete this.node.dataset.typed;
      this.show(this.editText());
      this.dropped?.();
    } else if (event.key === "ArrowUp" || event.key === "ArrowDown") {
      const next = stepped(this.input.value || this.text, this.unit, event.key === "ArrowUp", event.shiftKey);
      if (next === null) return;
      this.show(next);
      this.touched = true;
      this.soon();
    } else return;
    event.preventDefault();
    event.stopPropagation();
  }
}

export const fieldKeys = () => h("span.unseen#sentence-keys", {}, words.sentence.keys);
