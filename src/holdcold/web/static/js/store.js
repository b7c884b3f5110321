// What this phone keeps: cards, calls with every field as typed, entries waiting to be sent, settings.
//
// A write counts as kept when its transaction is complete and on the disk (strict durability), and not before.
const NAME = "holdcold";
const VERSION = 1;
const STORES = { cards: "id", calls: "id", entries: "id", drafts: "key", settings: "key" };
const watchers = new Set();

export const keeping = { state: "kept", at: null, problem: "", pending: 0 };

let opened = null;

export function openStore() {
  opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => {
      for (const [name, keyPath] of Object.entries(STORES)) {
        if (!request.result.objectStoreNames.contains(name)) request.result.createObjectStore(name, { keyPath });
      }
    };
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      resolve(request.result);
    };
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new Error("another window holds an older version open"));
  });
  return opened;
}

export function whenKeepingChanges(watch) {
  watchers.add(watch);
  return () => watchers.delete(watch);
}

function tell(news) {
  Object.assign(keeping, news);
  for (const watch of watchers) watch();
}

// puts: {store: [rows]}. Resolves once all of them are kept together; none is kept otherwise.
export async function keep(puts) {
  tell({ state: "keeping" });
  try {
    await transact(puts);
  } catch (problem) {
    tell({ state: "not kept", problem: problem?.name === "QuotaExceededError" ? "full" : String(problem) });
    throw problem;
  }
  tell({ state: "kept", at: new Date(), problem: "" });
  if (puts.entries?.length) await countPending();
}

async function transact(puts) {
  const database = await openStore();
  const work = database.transaction(Object.keys(puts), "readwrite", { durability: "strict" });
  const done = new Promise((resolve, reject) => {
    work.oncomplete = () => resolve();
    work.onabort = () => reject(work.error ?? new Error("not kept"));
  });
  for (const [store, rows] of Object.entries(puts)) {
    for (const row of rows) work.objectStore(store).put(row);
  }
  await done;
}

async function reading(store, use) {
  const database = await openStore();
  const request = use(database.transaction(store, "readonly").objectStore(store));
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

export const all = (store) => reading(store, (rows) => rows.getAll());
export const one = (store, key) => reading(store, (rows) => rows.get(key));

export async function countPending() {
  const entries = await all("entries");
  const pending = entries.filter((entry) => !entry.sent).length;
  tell({ pending });
  if (navigator.setAppBadge) navigator.setAppBadge(pending).catch(() => {});
}

// Time-ordered identifiers made on this device (UUID version 7).
export function newId() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  let time = Date.now();
  for (let place = 5; place >= 0; place -= 1) {
    bytes[place] = time % 256;
    time = Math.floor(time / 256);
  }
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

const COPY = "holdcold pending work";

// Everything not yet sent, with the cards and calls it belongs to, as the text of a file.
export async function copyOfPending() {
  const [cards, calls, entries, drafts] = await Promise.all(["cards", "calls", "entries", "drafts"].map(all));
  const waiting = entries.filter((entry) => !entry.sent);
  const copy = { what: COPY, schema: 1, made: new Date().toISOString(), cards, calls, entries: waiting, drafts };
  return JSON.stringify(copy, null, 1);
}

// Takes a copy back: what is here already stays as it is, what is missing is added. Returns how many entries came.
export async function takeCopy(text) {
  const copy = JSON.parse(text);
  if (copy.what !== COPY || copy.schema !== 1) throw new Error("not a copy made by this app");
  const puts = {};
  let came = 0;
  for (const [store, key] of Object.entries(STORES)) {
    if (store === "settings") continue;
    const here = new Set((await all(store)).map((row) => row[key]));
    puts[store] = (copy[store] ?? []).filter((row) => row && row[key] && !here.has(row[key]));
    if (store === "entries") came = puts[store].length;
  }
  await keep(puts);
  await countPending();
  return came;
}
