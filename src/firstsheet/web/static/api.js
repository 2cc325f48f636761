// The one door to the server. Gives answers, or throws a Slip with three sentences.

import { words } from "./words.js";

/** What the server refused, in three sentences. */
export class Slip extends Error {
  constructor({ code = "error", found, consequence = "", choice = "" }, status = 0) {
    super(found);
    Object.assign(this, { code, found, consequence, choice, status });
  }
}

const HEADERS = { "X-Firstsheet": "1" };

async function ask(method, path, body, extra = {}) {
  let answer;
  const init = { method, headers: { ...HEADERS }, ...extra };
  if (body !== undefined && !extra.raw) {
    init.headers["Content-Type"] = "application/json";
    init.body = JSON.stringify(body);
  }
  try {
    answer = await fetch(path, init);
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Slip({ code: "gone", ...words.gone });
  }
  const text = await answer.text();
  let data = {};
  try { data = text ? JSON.parse(text) : {}; } catch { /* not JSON: told below */ }
  if (!answer.ok) {
    throw new Slip(
      data.error ?? { ...words.odd, found: `${words.odd.found} (${answer.status}).` },
      answer.status,
    );
  }
  return data;
}

const safe = encodeURIComponent;

export const api = {
  start: () => ask("GET", "/api/start"),
  paths: (typed, signal) => ask("GET", `/api/paths?q=${safe(typed)}`, undefined, { signal }),
  open: (path) => ask("POST", "/api/open", { path }),
  draft: (id) => ask("GET", `/api/draft/${id}`),
  set: (id, revision, changes) => ask("POST", `/api/draft/${id}/set`, { revision, changes }),
  undo: (id) => ask("POST", `/api/draft/${id}/undo`, {}),
  redo: (id) => ask("POST", `/api/draft/${id}/redo`, {}),
  choose: (id, code, index) => ask("POST", `/api/draft/${id}/choose`, { code, index }),
  forget: (id) => ask("DELETE", `/api/draft/${id}`),
  spot: (id, x, y, signal) => ask("GET", `/api/draft/${id}/spot?x=${x}&y=${y}`, undefined, { signal }),
  regions: (id) => ask("GET", `/api/draft/${id}/regions`),
  seen: (id) => ask("GET", `/api/draft/${id}/seen`),
  compare: (id) => ask("GET", `/api/draft/${id}/compare`),
  sizes: (id) => ask("GET", `/api/draft/${id}/sizes`),
  rescan: (id, film) => ask("GET", `/api/draft/${id}/rescan?film=${safe(film)}`),
  make: (id, given) => ask("POST", `/api/draft/${id}/make`, given),
  makeAll: (ids, replace) => ask("POST", "/api/make-all", { ids, replace }),
  jobs: () => ask("GET", "/api/jobs"),
  job: (job) => ask("GET", `/api/job/${job}`),
  stopJob: (job) => ask("POST", `/api/job/${job}/stop`, {}),
  stocks: () => ask("GET", "/api/stocks"),
  stock: (name) => ask("GET", `/api/stocks/${safe(name)}`),
  editStock: (name, given) => ask("PATCH", `/api/stocks/${safe(name)}`, given),
  removeStock: (name) => ask("DELETE", `/api/stocks/${safe(name)}`),
  gamut: (name, draft) =>
    ask("GET", `/api/stocks/${safe(name)}/gamut${draft ? `?draft=${safe(draft)}` : ""}`),
  screen: (given) => ask("POST", "/api/screen", given),
  mayUpload: (file, signal) =>
    ask("GET", `/api/upload?name=${safe(file.name)}&bytes=${file.size}`, undefined, { signal }),
  addStock: (file, given) => ask("PUT", `/api/stocks?${new URLSearchParams(given)}`, undefined, {
    raw: true, body: file,
  }),
};

/**
 * Stream a file to the server's disk, if it may come. `tell(done, all)` hears how far it is.
 * Gives {promise, stop}; an upload that was stopped rejects with code "stopped".
 */
export function upload(file, tell) {
  const request = new XMLHttpRequest(), asking = new AbortController();
  const stopped = () => new Slip({ code: "stopped", found: words.start.cancelled });
  const promise = api.mayUpload(file, asking.signal).catch((error) => {
    throw error.name === "AbortError" ? stopped() : error;
  }).then(() => new Promise((resolve, reject) => {
    if (asking.signal.aborted) throw stopped();
    request.open("PUT", `/api/upload?name=${safe(file.name)}`);
    for (const [key, value] of Object.entries(HEADERS)) request.setRequestHeader(key, value);
    request.upload.onprogress = (event) => tell(event.loaded, file.size);
    request.onabort = () => reject(stopped());
    request.onerror = () => reject(new Slip({ code: "gone", ...words.gone }));
    request.onload = () => {
      let data = {};
      try { data = JSON.parse(request.responseText); } catch { /* told below */ }
      if (request.status < 300 && data.path) resolve(data);
      else reject(new Slip(data.error ?? words.odd, request.status));
    };
    request.send(file);
  }));
  const stop = () => {
    asking.abort();
    request.abort();
  };
  return { promise, stop };
}

/** Hear what happens on the server; `hear(event)` for each, `link(there)` when it comes or goes. */
export function listen(hear, link) {
  const source = new EventSource("/api/events");
  source.onmessage = (message) => {
    try { hear(JSON.parse(message.data)); } catch { /* a line that is no news */ }
  };
  source.onopen = () => link(true);
  source.onerror = () => link(false);
  return source;
}
