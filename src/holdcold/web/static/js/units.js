// Units: the list, the five facts of a new one, and what a unit should read now.
import { html, useState } from "/vendor/htm/standalone.module.js";
import { gasOptions, TEMPERATURES } from "./bench.js";
import { ask, engine } from "./engine.js";
import { Cautions, Choice, Field, Problems, Ruler, Select, useAnswer } from "./parts.js";
import { app, clearDraft, draft, newCall, saveCard, typeDraft, units } from "./state.js";
import { t, tx } from "./words.js";

const NEW = "new unit";

export function Units() {
  const [wanted, look] = useState("");
  const cards = [...app.cards.values()].filter((card) => card.heading.toLowerCase().includes(wanted.toLowerCase()));
  cards.sort((one, other) => (one.heading < other.heading ? -1 : 1));
  return html`
    <h1>${t("units")}</h1>
    <a class="button main" href="#/unit/new">${t("new_unit")}</a>
    ${app.cards.size > 4 && html`<${Field} label=${t("search")} value=${wanted} onType=${look} />`}
    ${cards.length === 0 && html`<p class="quiet">${t("no_units")}</p>`}
    <ul class="list">${cards.map((card) => html`<li><a href=${`#/unit/${card.id}`}>
      <strong>${card.heading.split(":")[0]}</strong><span class="hint">${card.heading.split(":").slice(1).join(":")}</span></a></li>`)}</ul>`;
}

export function FiveFacts({ form, say, problems }) {
  const wrong = (name) => problems?.find((row) => row.field === name)?.advice;
  const amps = /a\s*$/i.test(form.capacity ?? "");
  return html`
    <${Choice} label=${`1. ${t("five_kind")}`} value=${form.kind} onPick=${say("kind")} problem=${wrong("kind")}
      options=${[["walk_in", t("walk_in")], ["reach_in", t("reach_in")]]} />
    <${Select} label=${`2. ${t("refrigerant")}`} value=${form.refrigerant} options=${gasOptions()} onPick=${say("refrigerant")}
      problem=${wrong("refrigerant")} />
    <${Choice} label=${`3. ${t("five_application")}`} value=${form.application} onPick=${say("application")}
      problem=${wrong("application")} options=${[["cooler", t("cooler")], ["freezer", t("freezer")]]} />
    <${Field} label=${`4. ${t("five_box")}`} value=${form.box} onType=${say("box")} hint=${t("five_box_hint")}
      problem=${wrong("box")} name="box" />
    <${Field} label=${`5. ${t("five_capacity")}`} value=${form.capacity} onType=${say("capacity")} hint=${t("five_capacity_hint")}
      problem=${wrong("capacity")} name="capacity" />
    <button type="button" class="quiet-button" onClick=${() => say("capacity")("don't know")}>${t("dont_know")}</button>
    ${amps && html`<div class="pair">
      <${Field} label=${t("volts")} value=${form.voltage} onType=${say("voltage")} problem=${wrong("voltage")} />
      <${Field} label=${t("phases")} value=${form.phases} onType=${say("phases")} problem=${wrong("phases")} /></div>`}`;
}

const FIVE = ["kind", "refrigerant", "application", "box", "capacity", "voltage", "phases"];
export const answersOf = (form) => Object.fromEntries(FIVE.map((name) => [name, form[name] ?? ""]));
export const moreOf = (form) => Object.fromEntries(Object.entries(form).filter(([name]) => !FIVE.includes(name)));

export function NewUnit({ onMade }) {
  const form = draft(NEW);
  const [problems, setProblems] = useState(null);
  const [busy, setBusy] = useState(false);
  const make = async () => {
    setBusy(true);
    const found = await ask("five", { ...units(), answers: answersOf(form), more: moreOf(form) });
    setBusy(false);
    setProblems(found.error ?? null);
    if (found.error) return;
    const card = await saveCard(null, found, form);
    clearDraft(NEW);
    if (onMade) onMade(card);
    else location.hash = `#/unit/${card.id}`;
  };
  const listed = new Set(FIVE);
  return html`
    ${!onMade && html`<h1>${t("new_unit")}</h1>`}
    <p class="quiet">${t("five_lead")}</p>
    <section class="sheet">
      <${Field} label=${t("unit_name")} value=${form.name} onType=${(value) => typeDraft(NEW, "name", value)} hint=${t("optional")} name="name" />
      <${FiveFacts} form=${form} say=${(name) => (value) => typeDraft(NEW, name, value)} problems=${problems} />
      <${Problems} rows=${problems?.filter((row) => !listed.has(row.field))} />
      <button type="button" class="button main" disabled=${busy} onClick=${make}>
        ${engine.state === "ready" ? t("five_go") : t("five_go_soon")}</button>
    </section>`;
}

export function Unit({ id }) {
  const card = app.cards.get(id);
  const key = `unit ${id}`;
  const typed = draft(key);
  const { units: system, altitude } = app.settings;
  const watch = [card?.text, system, altitude, engine.state];
  const about = useAnswer(() => card && ask("card", { ...units(), card: card.text }), watch);
  const ambient = typed.ambient?.trim() || about?.ambient;
  const box = typed.box?.trim() || about?.box;
  const now = useAnswer(() => card && ambient && box &&
    ask("normal", { ...units(), card: card.text, ambient, box, off: typed.off === "off" }), [ambient, box, typed.off, ...watch]);
  if (!card) return html`<p>${t("gone")}</p>`;
  const say = (name) => (value) => typeDraft(key, name, value);
  const start = async () => {
    const call = await newCall(id);
    location.hash = `#/call/${call.id}/arrive`;
  };
  return html`
    <h1>${card.heading.split(":")[0]}</h1>
    <p class="quiet">${card.heading.split(":").slice(1).join(":")}</p>
    <${Cautions} texts=${about?.cautions} />
    <button type="button" class="button main" onClick=${start}>${t("start_call")}</button>
    <section class="sheet" aria-labelledby="u1">
      <h2 id="u1">${t("should_read")}</h2>
      <div class="pair">
        <${Field} label=${t("ambient")} value=${typed.ambient} onType=${say("ambient")} number units=${TEMPERATURES[system]}
          hint=${!typed.ambient && about ? t("taken_as", { value: about.ambient }) : ""} name="ambient" />
        <${Field} label=${t("box")} value=${typed.box} onType=${say("box")} number units=${TEMPERATURES[system]}
          hint=${!typed.box && about ? t("taken_as", { value: about.box }) : ""} name="box" />
      </div>
      ${now?.error && html`<${Problems} rows=${now.error} />`}
      ${!now && html`<p class="quiet" role="status">${t("working")}</p>`}
      ${now?.rows?.map((row) => html`<${Expected} row=${row} key=${row.place} />`)}
    </section>
    ${now?.sharpen?.length > 0 && html`<section class="sheet" aria-labelledby="u2">
      <h2 id="u2">${t("sharpen")}</h2>
      <ol class="sharpen">${now.sharpen.map((one) => html`<li><strong>${one.name}</strong>, ${t("sharpen_row", one)}
        <p class="hint">${one.hint}</p></li>`)}</ol>
    </section>`}
    <${MoreFacts} card=${card} />
    <details class="sheet"><summary><h2>${t("assumed")}</h2></summary>
      <p class="quiet">${t("assumed_lead")}</p>
      <dl class="facts">${(about?.assumed ?? []).map((fact) => html`<div><dt>${fact.name}</dt>
        <dd><b>${fact.value}</b> ${fact.spread} <span class="hint">${fact.source}</span></dd></div>`)}</dl>
    </details>`;
}

function Expected({ row }) {
  return html`<div class="reading">
    <div class="reading-head"><span>${tx(row.title)}</span><span class="value">${row.value}</span></div>
    <${Ruler} at=${row.ruler} label=${t("ruler_normal", { band: row.band })} />
    <div class="reading-foot"><span>${row.band}</span><span class="hint">${row.beside}</span></div>
  </div>`;
}

// Facts nobody has to give; each one given narrows the bands.
function MoreFacts({ card }) {
  const key = `facts ${card.id}`;
  const form = { ...card.form, ...draft(key) };
  const [problems, setProblems] = useState(null);
  const say = (name) => (value) => typeDraft(key, name, value);
  const wrong = (path) => problems?.find((row) => row.field === path)?.advice;
  const use = async () => {
    const found = await ask("five", { ...units(), answers: answersOf(form), more: moreOf(form) });
    setProblems(found.error ?? null);
    if (!found.error) await saveCard(card.id, found, form);
  };
  return html`<details class="sheet"><summary><h2>${t("more_facts")}</h2></summary>
    <p class="quiet">${t("more_facts_lead")}</p>
    ${(app.lists?.fields ?? []).map((field) => field.choices.length
      ? html`<${Select} label=${field.meaning} value=${form[field.path]} onPick=${say(field.path)} problem=${wrong(field.path)}
          options=${field.choices.map((one) => [one, one.replaceAll("_", " ")])} />`
      : html`<${Field} label=${field.meaning} value=${form[field.path]} onType=${say(field.path)} problem=${wrong(field.path)}
          hint=${t("like", { example: field.kind === "flag" ? t("yes_or_no") : field.example })} />`)}
    <${Problems} rows=${problems?.filter((row) => !app.lists?.fields.some((field) => field.path === row.field))} />
    <button type="button" class="button main" onClick=${use}>${t("use_facts")}</button>
  </details>`;
}
