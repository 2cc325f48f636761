// Small helpers for building and keeping nodes. No state.

/** Make an element: `h("button.quiet#id", {onclick, "aria-label": …}, "text", node)`. */
export function h(what, given = {}, ...children) {
  const [, tag, rest] = /^([a-z0-9-]+)(.*)$/i.exec(what);
  const node = document.createElement(tag);
  for (const [, mark, name] of rest.matchAll(/([.#])([\w-]+)/g)) {
    if (mark === "#") node.id = name;
    else node.classList.add(name);
  }
  return fill(node, given, children);
}

/** The same for SVG. */
export function s(tag, given = {}, ...children) {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", tag), given, children);
}

function fill(node, given, children) {
  for (const [key, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) node.addEventListener(key.slice(2), value);
    else if (key === "text") node.textContent = value;
    else if (key === "value" && "value" in node) node.value = value;
    else node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...children.flat().filter((one) => one !== null && one !== undefined && one !== false));
  return node;
}

/** Set text only where it differs, so that nothing flickers and no selection is lost. */
export function put(node, text) {
  const wanted = String(text ?? "");
  if (node.textContent !== wanted) node.textContent = wanted;
  return node;
}

/** Keep numbers and their units on one line. */
export function bound(text) {
  return String(text ?? "")
    .replace(/(\d) (?=(?:mm|cm|m|in|ppi|spi|lux|px|s|MB|GB|%|×)(?![\p{L}]))/gu, "$1\u00a0")
    .replace(/(ΔE00|L\*|×) (?=\d)/g, "$1\u00a0")
    .replace(/(\d) : (?=\d)/g, "$1\u00a0:\u00a0");
}

/** Set or take away attributes, only where they differ. */
export function mark(node, given) {
  for (const [key, value] of Object.entries(given)) {
    if (value === false || value === null || value === undefined) node.removeAttribute(key);
    else if (node.getAttribute(key) !== String(value)) node.setAttribute(key, value);
  }
  return node;
}

/**
 * Keep a list of nodes in step with a list of things: known ones stay the same node.
 * `make(item)` builds a node, `refresh(node, item)` updates it.
 */
export function keyed(parent, items, keyOf, make, refresh) {
  const known = (parent.keyedNodes ||= new Map());
  const wanted = new Map();
  for (const item of items) {
    let key = String(keyOf(item));
    while (wanted.has(key)) key += "+";
    const node = known.get(key) ?? make(item);
    refresh?.(node, item);
    wanted.set(key, node);
  }
  for (const [key, node] of known) if (!wanted.has(key)) node.remove();
  let at = parent.firstChild;
  for (const node of wanted.values()) {
    if (node === at) at = at.nextSibling;
    else parent.insertBefore(node, at);
  }
  parent.keyedNodes = wanted;
}

/** Say something to those who listen rather than look. */
export function say(text) {
  const line = document.getElementById("says");
  line.textContent = "";
  requestAnimationFrame(() => { line.textContent = text; });
}

/** A unique id. */
export const uid = ((n) => () => `n${(n += 1)}`)(0);

/** Run `work` once things have been quiet for `wait` ms. */
export function calm(work, wait) {
  let timer = 0;
  const run = (...given) => {
    clearTimeout(timer);
    timer = setTimeout(() => work(...given), wait);
  };
  run.now = (...given) => { clearTimeout(timer); work(...given); };
  run.drop = () => clearTimeout(timer);
  return run;
}

/** Bytes in words. */
export function bytesWords(bytes) {
  const steps = [[1e9, "GB", 2], [1e6, "MB", 0], [1e3, "kB", 0]];
  for (const [size, unit, digits] of steps) {
    if (bytes >= size) return `${(bytes / size).toFixed(digits)} ${unit}`;
  }
  return `${bytes} bytes`;
}
