// Starts the app: words, what the phone keeps, screens; then the engine, while the screens can already be used.
import { html, render, useEffect, useState } from "/vendor/htm/standalone.module.js";
import { engine, startEngine, whenEngineChanges } from "./engine.js";
import { ARCHIVE, RELEASE } from "./release.js";
import { app, commitAll, loadLists, loadState, whenStateChanges } from "./state.js";
import { keeping, openStore, whenKeepingChanges } from "./store.js";
import { loadWords, t } from "./words.js";
import { Bench } from "./bench.js";
import { Call, Calls } from "./calls.js";
import { Mine } from "./mine.js";
import { NewUnit, Unit, Units } from "./units.js";
import { Report } from "./report.js";

export const shell = { waiting: null, offline: false };
const watchers = new Set();

function useNews() {
  const [, again] = useState(0);
  useEffect(() => {
    const watch = () => again((count) => count + 1);
    const stops = [whenEngineChanges(watch), whenStateChanges(watch), whenKeepingChanges(watch)];
    watchers.add(watch);
    window.addEventListener("hashchange", watch);
    return () => {
      stops.forEach((stop) => stop());
      watchers.delete(watch);
      window.removeEventListener("hashchange", watch);
    };
  }, []);
}

const TABS = [["bench", "bench"], ["units", "units"], ["calls", "calls"], ["mine", "mine"]];

function App() {
  useNews();
  const [screen, ...rest] = location.hash.replace(/^#\/?/, "").split("/");
  const current = screen || "units";
  useEffect(() => window.scrollTo(0, 0), [location.hash]);
  if (current === "report") return html`<${Report} id=${rest[0]} />`;
  const tab = { unit: "units", call: "calls" }[current] ?? current;
  return html`
    <header class="top">
      <span class="brand">Holdcold</span>
      <${EngineState} />
      <${Pending} />
    </header>
    ${shell.waiting && html`<div class="banner" role="status">${t("newer")}
      <button type="button" onClick=${() => shell.waiting.postMessage("take over")}>${t("newer_take")}</button></div>`}
    ${keeping.state === "not kept" && html`<div class="banner bad" role="alert">▲
      ${keeping.problem === "full" ? t("store_full") : t("not_kept", { why: keeping.problem })}</div>`}
    <main id="main">${screenOf(current, rest)}</main>
    <nav class="tabs" aria-label=${t("screens")}>
      ${TABS.map(([name, key]) => html`<a href=${`#/${name}`} aria-current=${tab === name ? "page" : undefined}>${t(key)}</a>`)}
    </nav>`;
}

function screenOf(name, rest) {
  if (name === "bench") return html`<${Bench} />`;
  if (name === "unit") return rest[0] === "new" ? html`<${NewUnit} />` : html`<${Unit} id=${rest[0]} key=${rest[0]} />`;
  if (name === "calls") return html`<${Calls} />`;
  if (name === "call") return html`<${Call} id=${rest[0]} part=${rest[1] ?? "arrive"} key=${rest[0]} />`;
  if (name === "mine") return html`<${Mine} release=${RELEASE} archive=${ARCHIVE} shell=${shell} />`;
  return html`<${Units} />`;
}

function EngineState() {
  if (engine.state === "ready") return html`<span class="state" role="status">${t("engine_ready")}</span>`;
  if (engine.state === "failed") return html`<span class="state bad" role="alert">▲ ${t("engine_failed")}</span>`;
  return html`<span class="state" role="status">${t("engine_starting")}</span>`;
}

function Pending() {
  const words = { kept: t("kept"), keeping: t("keeping"), "not kept": t("not_kept_short") }[keeping.state];
  return html`<a class="pending" href="#/mine">
    <b>${keeping.pending}</b> ${t("pending")} · <span class="kept">${words}</span></a>`;
}

function showTheme() {
  const { theme } = app.settings;
  if (theme === "auto") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = theme;
}

async function keepShell() {
  if (!("serviceWorker" in navigator)) return;
  const registration = await navigator.serviceWorker.register("/sw.js");
  const news = () => {
    shell.waiting = registration.waiting && navigator.serviceWorker.controller ? registration.waiting : null;
    watchers.forEach((watch) => watch());
  };
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", news));
  news();
  let known = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (known) location.reload();
    known = true;
  });
  await navigator.serviceWorker.ready;
  shell.offline = true;
  watchers.forEach((watch) => watch());
}

function onceEngineIsReady(work) {
  const stop = whenEngineChanges(() => {
    if (engine.state === "starting") return;
    stop();
    work();
  });
}

async function start() {
  await openStore();
  await loadState();
  await loadWords(app.settings.language);
  showTheme();
  whenStateChanges(showTheme);
  const place = document.getElementById("app");
  place.replaceChildren();
  render(html`<${App} />`, place);
  performance.mark("interactive");
  document.addEventListener("visibilitychange", () => document.hidden && commitAll());
  startEngine();
  loadLists().catch(() => {});
  onceEngineIsReady(() => {
    performance.mark("engine");
    keepShell().catch(() => {});
  });
}

start().catch((problem) => {
  document.getElementById("app").textContent = `Holdcold: ${problem}`;
});
