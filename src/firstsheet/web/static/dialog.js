// A sheet laid over the table for one question. The browser's own <dialog>: it keeps the focus.

import { h, uid } from "./dom.js";
import { words } from "./words.js";

/** Show; `main` = {text, run} is the button that takes the answer. Gives the dialog. */
export function dialog(title, content, main = null, close = words.common.close) {
  const id = uid();
  const box = h("dialog.over", { "aria-labelledby": id, onclose: () => box.remove() },
    h("h2", { id }, title), content,
    h("div.acts", {},
      main && h("button.main", { type: "button", onclick: () => { box.close(); main.run(); } }, main.text),
      h("button.plain", { type: "button", onclick: () => box.close() }, close)));
  box.addEventListener("click", (event) => event.target === box && box.close());
  document.body.append(box);
  box.showModal();
  return box;
}
