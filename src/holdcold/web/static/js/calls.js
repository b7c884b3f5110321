// Calls: the list, and one call with its five parts; arriving and the walk-round are here.
import { html, useState } from "/vendor/htm/standalone.module.js";
import { TEMPERATURES } from "./bench.js";
import { ask, engine } from "./engine.js";
import { Find } from "./find.js";
import { Cautions, Choice, Field, Select, useAnswer } from "./parts.js";
import { app, commit, newCall, setCard, type, units } from "./state.js";
import { NewUnit } from "./units.js";
import { t, tx } from "./words.js";
import { Fix, HandOver, Prove, temporaryLeft } from "./work.js";

const PARTS = ["arrive", "walk", "find", "fix", "prove", "handover"];

export function nameOf(call) {
  return app.cards.get(call.card)?.heading.split(":")[0] ?? t("no_unit_yet");
}

export function Calls() {
  const [wanted, look] = useState("");
  const calls = [...app.calls.values()].filter((call) => nameOf(call).toLowerCase().includes(wanted.toLowerCase()));
  calls.sort((one, other) => (one.made > other.made ? -1 : 1));
  const start = async () => {
    const call = await newCall(null);
    location.hash = `#/call/${call.id}/arrive`;
  };
  return html`
    <h1>${t("calls")}</h1>
    <button type="button" class="button main" onClick=${start}>${t("new_call")}</button>
    <p class="quiet">${t("new_call_lead")}</p>
    ${app.calls.size > 4 && html`<${Field} label=${t("search")} value=${wanted} onType=${look} />`}
    <ul class="list">${calls.map((call) => html`<li><a href=${`#/call/${call.id}/${call.last ? "find" : "arrive"}`}>
      <strong>${nameOf(call)}</strong>
      <span class="hint">${new Date(call.made).toLocaleString(document.documentElement.lang)}${call.said["close call"]?.value ? ` · ${t("closed")}` : ""}</span>
      ${call.last && html`<span>${call.last.page.headline}</span>`}</a></li>`)}</ul>`;
}

export function Call({ id, part }) {
  const call = app.calls.get(id);
  if (!call) return html`<p>${t("gone")}</p>`;
  const left = temporaryLeft(call);
  const bodies = { arrive: Arrive, walk: Walk, find: Find, fix: Fix, prove: Prove, handover: HandOver };
  const Body = bodies[part] ?? Arrive;
  return html`
    <h1 class="call-name">${nameOf(call)}</h1>
    <nav class="parts" aria-label=${t("parts")}>
      ${PARTS.map((name) => html`<a href=${`#/call/${id}/${name}`} aria-current=${name === part ? "step" : undefined}>${t(`part_${name}`)}</a>`)}
    </nav>
    ${left.length > 0 && html`<div class="temporary" role="status"><strong>■ ${t("put_back")}:</strong> ${left.join("; ")}</div>`}
    <${Body} call=${call} />`;
}

// Says a field of a call at once, as a tap does.
export const saying = (call, key) => (value) => commit(call.id, key, value);

// Keeps a field of a call while it is typed and says it when it is left.
export function CallField({ call, name, ...rest }) {
  return html`<${Field} ...${rest} name=${name} value=${call.fields[name]} onType=${(value) => type(call.id, name, value)}
    onLeave=${() => commit(call.id, name)} />`;
}

function words(group, list) {
  return list.map((value) => [value, t(`${group}_${value}`)]);
}

const COMPLAINTS = ["warm", "iced", "not_running", "short_cycling", "noisy", "leak", "none"];
const STATES = ["running", "cycling", "off", "defrost"];
const TRENDS = ["falling", "steady", "rising"];

function Arrive({ call }) {
  const { units: system } = app.settings;
  const card = app.cards.get(call.card);
  const about = useAnswer(() => card && ask("card", { ...units(), card: card.text }), [card?.text, engine.state]);
  const said = (key) => call.fields[key];
  const cards = [...app.cards.values()].map((one) => [one.id, one.heading]);
  return html`
    <${Cautions} texts=${about?.cautions} />
    <section class="sheet">
      <${Choice} label=${t("complaint")} value=${said("condition complaint")} options=${words("complaint", COMPLAINTS)}
        onPick=${saying(call, "condition complaint")} />
      <${Choice} label=${t("state")} value=${said("condition state")} options=${words("state", STATES)}
        onPick=${saying(call, "condition state")} />
      <${CallField} call=${call} name="condition minutes_in_state" label=${t("minutes_in_state")} number hint=${t("minutes_hint")} />
      <${Choice} label=${t("box_trend")} value=${said("condition box_trend")} options=${words("trend", TRENDS)}
        onPick=${saying(call, "condition box_trend")} />
      <div class="pair">
        <${CallField} call=${call} name="condition ambient" label=${t("ambient")} number units=${TEMPERATURES[system]} />
        <${CallField} call=${call} name="condition box" label=${t("box")} number units=${TEMPERATURES[system]} />
      </div>
    </section>
    <section class="sheet">
      ${cards.length > 0 && html`<${Select} label=${t("which_unit")} value=${call.card} options=${cards}
        onPick=${(value) => setCard(call.id, value || null)} />`}
      <${CallField} call=${call} name="note contact" label=${t("contact")} />
      <${CallField} call=${call} name="note approval" label=${t("approval")} />
      <${CallField} call=${call} name="note stock" label=${t("stock")} />
      <${CallField} call=${call} name="note notes" label=${t("notes")} />
    </section>
    <a class="button main" href=${`#/call/${call.id}/walk`}>${t("to_walk")}</a>`;
}

export function NeedsUnit({ call }) {
  return html`<p class="quiet">${t("needs_unit")}</p><${NewUnit} onMade=${(card) => setCard(call.id, card.id)} />`;
}

export function useWalk(call) {
  const card = app.cards.get(call.card);
  return useAnswer(() => card && ask("walk", { ...units(), card: card.text }), [card?.text, engine.state]);
}

function Walk({ call }) {
  const [stop, setStop] = useState(() => 0);
  const around = useWalk(call);
  if (!app.cards.get(call.card)) return html`<${NeedsUnit} call=${call} />`;
  if (!around?.stops || !app.lists) return html`<p class="quiet" role="status">${t("working")}</p>`;
  const { place, checks, sightings } = around.stops[stop];
  const last = stop === around.stops.length - 1;
  const done = async () => {
    for (const check of checks) await commit(call.id, `check ${check}`, "done");
    if (last) location.hash = `#/call/${call.id}/find`;
    else setStop(stop + 1);
    window.scrollTo(0, 0);
  };
  return html`
    <ol class="stops">${around.stops.map((one, number) => html`<li><button type="button" aria-pressed=${number === stop ? "true" : "false"}
      onClick=${() => setStop(number)}>${number + 1}. ${t(`place_${one.place}`)}</button></li>`)}</ol>
    <h2>${t(`place_long_${place}`)}</h2>
    ${sightings.map((name) => html`<${Sighting} call=${call} name=${name} key=${name} />`)}
    <button type="button" class="button main" onClick=${done}>${last ? t("walk_done") : t("stop_done")}</button>
    <p class="hint">${t("stop_done_hint")}</p>`;
}

// Three buttons: as it should be, not as it should be (then: how), not looked.
export function Sighting({ call, name }) {
  const row = app.lists.sightings[name];
  const key = `sighting ${name}`;
  const seen = call.fields[key] ?? "";
  const [[good, goodWords], ...others] = row.values;
  const bad = seen !== "" && seen !== good && seen !== "not looked";
  const [open, setOpen] = useState(bad);
  const say = saying(call, key);
  const pressed = (on) => (on ? "true" : "false");
  return html`<fieldset class="sighting">
    <legend>${tx(row.title)} <span class="hint">${tx(row.ask)}</span></legend>
    <div class="three">
      <button type="button" class="good" aria-pressed=${pressed(seen === good)} onClick=${() => { setOpen(false); say(good); }}>
        <b>✓ ${t("ok")}</b><span>${tx(goodWords)}</span></button>
      <button type="button" class="bad" aria-pressed=${pressed(bad || open)} aria-expanded=${pressed(open)}
        onClick=${() => setOpen(!open)}><b>✗ ${t("not_ok")}</b>
        <span>${bad ? tx(others.find(([value]) => value === seen)?.[1] ?? seen) : t("how")}</span></button>
      <button type="button" class="unseen" aria-pressed=${pressed(seen === "not looked")}
        onClick=${() => { setOpen(false); say("not looked"); }}><b>– ${t("not_looked")}</b></button>
    </div>
    ${open && html`<div class="choices">${others.map(([value, text]) => html`<button type="button"
      class=${seen === value ? "picked" : ""} aria-pressed=${pressed(seen === value)} onClick=${() => say(value)}>
      <span aria-hidden="true">${seen === value ? "●" : "○"}</span> ${tx(text)}</button>`)}</div>`}
  </fieldset>`;
}
