// The app's memory while it is open, and the acts that change it: every change is kept as it is made.
import { ask } from "./engine.js";
import { all, copyOfPending, countPending, keep, newId, one } from "./store.js";

const watchers = new Set();
const IDLE_MS = 20_000;
const timers = new Map();

export const app = {
  cards: new Map(),
  calls: new Map(),
  settings: { units: "us", altitude: "", language: "", theme: "auto", numbers: false },
  drafts: new Map(),
  lists: null,
  device: null,
};

export function whenStateChanges(watch) {
  watchers.add(watch);
  return () => watchers.delete(watch);
}

export function changed() {
  for (const watch of watchers) watch();
}

export async function loadState() {
  const [cards, calls, drafts, settings] = await Promise.all(["cards", "calls", "drafts", "settings"].map(all));
  app.cards = new Map(cards.map((row) => [row.id, row]));
  app.calls = new Map(calls.map((row) => [row.id, row]));
  app.drafts = new Map(drafts.map((row) => [row.key, row.fields]));
  const kept = new Map(settings.map((row) => [row.key, row.value]));
  Object.assign(app.settings, kept.get("mine"));
  app.device = kept.get("device") ?? { id: newId(), counter: 0 };
  if (!kept.has("device")) await keep({ settings: [{ key: "device", value: app.device }] });
  await countPending();
}

export const units = () => ({
  units: app.settings.units,
  altitude: app.settings.altitude,
  numbers: app.settings.numbers,
});

export async function loadLists() {
  const found = await ask("lists", units());
  if (!found.error) app.lists = found;
  changed();
}

export function set(name, value) {
  app.settings = { ...app.settings, [name]: value };
  changed();
  keep({ settings: [{ key: "mine", value: app.settings }] }).catch(() => {});
  if (name === "units" || name === "altitude") loadLists();
}

// A form that is no call yet: kept at every keystroke under its name.
export function draft(key) {
  return app.drafts.get(key) ?? {};
}

export function typeDraft(key, name, value) {
  const fields = { ...draft(key), [name]: value };
  app.drafts.set(key, fields);
  changed();
  keep({ drafts: [{ key, fields }] }).catch(() => {});
}

export function clearDraft(key) {
  app.drafts.set(key, {});
  keep({ drafts: [{ key, fields: {} }] }).catch(() => {});
}

export async function saveCard(id, found, form) {
  const card = { id: id ?? newId(), name: found.name || found.heading, heading: found.heading, text: found.card,
    form, made: new Date().toISOString() };
  app.cards.set(card.id, card);
  changed();
  await keep({ cards: [card] });
  return card;
}

export async function newCall(cardId) {
  const call = { id: newId(), card: cardId ?? null, made: new Date().toISOString(), fields: {}, said: {}, last: null };
  app.calls.set(call.id, call);
  changed();
  await keep({ calls: [call] });
  return call;
}

export function setCard(callId, cardId) {
  const call = { ...app.calls.get(callId), card: cardId };
  app.calls.set(callId, call);
  changed();
  return keep({ calls: [call] });
}

// Keeps a field of a call as typed; it becomes an entry when it is left, confirmed, or idle for a while.
export function type(callId, key, value) {
  const before = app.calls.get(callId);
  const call = { ...before, fields: { ...before.fields, [key]: value } };
  app.calls.set(callId, call);
  changed();
  keep({ calls: [call] }).catch(() => {});
  const name = `${callId} ${key}`;
  clearTimeout(timers.get(name));
  timers.set(name, setTimeout(() => commit(callId, key), IDLE_MS));
}

// Makes the entry of a field, unless it says what the last entry said. The entry and the call are kept together.
export function commit(callId, key, given) {
  clearTimeout(timers.get(`${callId} ${key}`));
  timers.delete(`${callId} ${key}`);
  const before = app.calls.get(callId);
  const value = given === undefined ? before.fields[key] : given;
  const told = before.said[key];
  if (value === undefined || told?.value === value || (!told && value === "")) return Promise.resolve();
  const entry = makeEntry(callId, key, value, told?.entry);
  const call = {
    ...before,
    fields: { ...before.fields, [key]: value },
    said: { ...before.said, [key]: { entry: entry.id, value, at: entry.made } },
  };
  app.calls.set(callId, call);
  changed();
  return keep({ calls: [call], entries: [entry], settings: [{ key: "device", value: app.device }] }).catch(() => {});
}

// Kind and name of a field stand in its key: "reading discharge_pa".
function makeEntry(callId, key, value, corrects) {
  const [kind, ...name] = key.split(" ");
  app.device = { ...app.device, counter: app.device.counter + 1 };
  const body = { schema: 1, name: name.join(" "), value };
  const entry = { id: newId(), call: callId, kind, device: app.device.id, counter: app.device.counter,
    made: localTime(new Date()), body, sent: false };
  return corrects ? { ...entry, corrects } : entry;
}

// Local date and time with its offset, as the engine wants dates: no zone names.
function localTime(now) {
  const offset = -now.getTimezoneOffset();
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const local = new Date(now.getTime() + offset * 60_000).toISOString().slice(0, 23);
  return `${local}${offset < 0 ? "-" : "+"}${two(offset / 60)}:${two(offset % 60)}`;
}

export function commitAll() {
  for (const name of [...timers.keys()]) {
    const [callId, ...key] = name.split(" ");
    commit(callId, key.join(" "));
  }
}

export function keepAnswer(callId, found) {
  const call = { ...app.calls.get(callId), last: { page: found.page, at: new Date().toISOString() } };
  app.calls.set(callId, call);
  changed();
  return keep({ calls: [call] }).catch(() => {});
}

// The call as the engine reads it; only what was said, not what is half typed.
export function callDocument(call) {
  const said = Object.entries(call.said).map(([key, { value }]) => [key.split(" "), value]);
  const named = (kind) => said.filter(([[first], value]) => first === kind && value !== "");
  const conditions = Object.fromEntries(named("condition").map(([[, name], value]) => [name, value]));
  return {
    schema: 1,
    conditions,
    reading: named("reading").map(([[, place], value]) => ({ place, value })),
    sighting: named("sighting").map(([[, id], seen]) => ({ id, seen })),
    check: named("check").map(([[, id], value]) =>
      value === "done" ? { id, outcome: "done" } : { id, outcome: "not_now", reason: value.replace(/^not now: /, "") }),
    repair: named("repair").map(([[, fault], outcome]) => ({ fault, outcome })),
    override: named("override").map(([[, guard], reason]) => ({ guard, reason })),
  };
}

export function saveCopy() {
  return copyOfPending().then((text) => {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text], { type: "application/json" }));
    link.download = `holdcold-pending-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  });
}

export const entriesOf = async (callId) => (await all("entries")).filter((entry) => entry.call === callId);
export const kept = (store, key) => one(store, key);
