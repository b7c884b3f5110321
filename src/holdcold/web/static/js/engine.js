// Asks the engine in its worker. Screens never wait for it: until it is ready requests queue.
const waiting = new Map();
const watchers = new Set();
let worker = null;
let lastId = 0;

export const engine = { state: "starting", milliseconds: null, text: "" };

export function startEngine() {
  worker = new Worker("/js/worker.js", { type: "module", name: "engine" });
  worker.onmessage = ({ data }) => (data.state ? changed(data) : settle(data));
  worker.onerror = (event) => changed({ state: "failed", text: event.message });
}

export function whenEngineChanges(watch) {
  watchers.add(watch);
  return () => watchers.delete(watch);
}

// given: what the request takes; the answer as plain data, with `error` where it cannot be given.
export function ask(name, given) {
  lastId += 1;
  const id = lastId;
  return new Promise((resolve, reject) => {
    waiting.set(id, { resolve, reject });
    worker.postMessage({ id, request: JSON.stringify({ ...given, ask: name }) });
  });
}

function changed(news) {
  Object.assign(engine, news);
  for (const watch of watchers) watch();
}

function settle({ id, answer, failure }) {
  const { resolve, reject } = waiting.get(id);
  waiting.delete(id);
  if (failure === undefined) resolve(JSON.parse(answer));
  else reject(new Error(failure));
}
