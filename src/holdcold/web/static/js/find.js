// Find: what was read against what it should be, three suspects in words, the next check.
import { html, useEffect, useState } from "/vendor/htm/standalone.module.js";
import { PRESSURES, TEMPERATURES } from "./bench.js";
import { CallField, NeedsUnit, Sighting, useWalk } from "./calls.js";
import { ask, engine } from "./engine.js";
import { Cautions, Field, Problems, Ruler, useAnswer } from "./parts.js";
import { app, callDocument, commit, keepAnswer, set, units } from "./state.js";
import { t, tx } from "./words.js";

const FIRST_READINGS = 8;

function useFinding(call) {
  const card = app.cards.get(call.card);
  const document_ = JSON.stringify(callDocument(call));
  const { units: system, altitude, numbers } = app.settings;
  const found = useAnswer(() => card && engine.state === "ready" &&
    ask("find", { ...units(), card: card.text, call: JSON.parse(document_) }),
  [document_, card?.text, system, altitude, numbers, engine.state]);
  useEffect(() => {
    if (found?.page) keepAnswer(call.id, found);
  }, [found]);
  return found;
}

export function Find({ call }) {
  const found = useFinding(call);
  const around = useWalk(call);
  if (!app.cards.get(call.card)) return html`<${NeedsUnit} call=${call} />`;
  const page = found?.page ?? call.last?.page;
  return html`
    ${!found?.page && call.last && html`<p class="as-of" role="status">${t("as_of", { time: new Date(call.last.at).toLocaleTimeString() })}</p>`}
    ${!page && !found?.error && html`<p class="quiet" role="status">${t("working")}</p>`}
    <${Problems} rows=${found?.error} />
    ${page && html`<${Page} page=${page} call=${call} />`}
    <${Readings} call=${call} around=${around} page=${page} problems=${found?.error} />`;
}

function Page({ page, call }) {
  return html`
    <section class=${`verdict ${page.verdict}`} aria-live="polite">
      <h2>${t(`verdict_${page.verdict}`)}</h2>
      <p class="headline">${page.headline}</p>
      <p class="hint">${t("air_line", page.air)}${page.air.ambient_measured ? "" : ` ${t("ambient_guess")}`}${page.air.box_measured ? "" : ` ${t("box_guess")}`}</p>
    </section>
    ${page.odd.map((one) => html`<${Odd} one=${one} call=${call} />`)}
    <section aria-labelledby="f1"><div class="suspects-head"><h2 id="f1">${t("suspects")}</h2>
        <button type="button" class="button" aria-pressed=${app.settings.numbers ? "true" : "false"}
          onClick=${() => set("numbers", !app.settings.numbers)}>${t(app.settings.numbers ? "numbers_hide" : "numbers_show")}</button></div>
      <ol class="suspects">${page.suspects.map((one) => html`<${Suspect} one=${one} key=${one.fault} />`)}</ol>
      <p class="hint">${page.besides}</p>
    </section>
    ${page.enough ? html`<${Act} act=${page.act} call=${call} />` : html`<${Next} page=${page} call=${call} />`}
    ${page.held.map((one) => html`<${Held} one=${one} call=${call} key=${one.guard} />`)}
    <${Cautions} texts=${page.cautions} />`;
}

// What is missing is asked for where the app asks it; other oddities carry their advice.
function Odd({ one, call }) {
  return html`<p class="odd"><strong>◆ ${t(`odd_${one.kind}`)}:</strong> ${one.text}.
    ${one.kind === "missing" ? html` <a href=${`#/call/${call.id}/arrive`}>${t("say_it_there")}</a>` : ` ${one.advice}`}</p>`;
}

function Suspect({ one }) {
  return html`<li class="suspect sheet">
    <h3>${one.title}</h3>
    <p class="chance"><span class="meter" aria-hidden="true">${[0.1, 0.3, 0.5, 0.7, 0.9].map((step) => html`<i class=${one.chance >= step ? "on" : ""}></i>`)}</span>
      ${one.words}${app.settings.numbers ? ` · ${one.percent}` : ""}${one.severity ? html`<br/><span class="hint">${t("severity")}: ${one.severity}</span>` : ""}</p>
    <dl>
      <dt>${t("because")}</dt>${one.because.map((text) => html`<dd>${text}</dd>`)}
      ${one.but.length > 0 && html`<dt>${t("but")}</dt>`}${one.but.map((text) => html`<dd>${text}</dd>`)}
      <dt>${t("killed_by")}</dt><dd>${one.killed_by}</dd>
    </dl>
  </li>`;
}

function Next({ page, call }) {
  if (!page.next) return html`<section class="next sheet"><h2>${t("next_check")}</h2><p>${page.act.reason}</p></section>`;
  const shown = page.two_checks ? [page.next, page.then[0]] : [page.next];
  return html`
    ${shown.map((check, number) => html`<${Check} check=${check} call=${call} key=${check.check}
      heading=${page.two_checks ? t(number ? "then_check" : "first_check") : t("next_check")} />`)}
    <p class="hint">${page.act.reason}</p>
    ${page.then.length > (page.two_checks ? 1 : 0) && html`<details><summary>${t("other_checks")}</summary>
      ${page.then.slice(page.two_checks ? 1 : 0).map((check) => html`<${Check} check=${check} call=${call} heading=${t("instead")} key=${check.check} />`)}
    </details>`}`;
}

function Check({ check, call, heading }) {
  const [open, setOpen] = useState(false);
  const [putOff, setPutOff] = useState(false);
  const [reason, setReason] = useState("");
  const done = () => commit(call.id, `check ${check.check}`, "done");
  return html`<section class="next sheet">
    <h2>${heading}</h2>
    <p class="headline">${check.title}</p>
    <p class="cost"><b>${check.minutes}</b>${check.wait ? ` + ${check.wait} ${t("waiting")}` : ""} · ${check.where.join(", ")}${check.opens_circuit ? ` · ${t("opens")}` : ""}${check.isolate ? ` · ${t("isolate")}` : ""}</p>
    <p>${check.how}</p>
    ${check.tells_of.length > 0 && html`<p class="hint">${t("tells_of")}: ${check.tells_of.join("; ")}</p>`}
    ${check.outcomes.length > 0 && html`<dl class="outcomes">${check.outcomes.map((one) => html`<div><dt>${t("if")} ${one.if}</dt><dd>→ ${one.then}</dd></div>`)}</dl>`}
    ${check.temporary && html`<p class="odd"><strong>■ ${t("put_back")}</strong> ${t("leaves_temporary")}</p>`}
    ${check.not_by && html`<p class="odd"><strong>◆ ${t("not_by")}</strong> ${check.not_by}</p>`}
    <${Cautions} texts=${check.cautions} />
    <div class="row">
      <button type="button" class="button main" aria-expanded=${open ? "true" : "false"} onClick=${() => setOpen(!open)}>${t("it_showed")}</button>
      <button type="button" class="button" aria-expanded=${putOff ? "true" : "false"} onClick=${() => setPutOff(!putOff)}>${t("not_now")}</button>
    </div>
    ${open && html`<div class="showed">
      ${check.asks.sightings.map((name) => html`<${Sighting} call=${call} name=${name} key=${name} />`)}
      ${check.asks.readings.map((place) => html`<${ReadingField} call=${call} place=${place} key=${place} />`)}
      <button type="button" class="button" onClick=${done}>${t("check_done")}</button>
    </div>`}
    ${putOff && html`<div class="showed">
      <${Field} label=${t("why_not_now")} value=${reason} onType=${setReason} />
      <button type="button" class="button" disabled=${!reason.trim()}
        onClick=${() => commit(call.id, `check ${check.check}`, `not now: ${reason.trim()}`)}>${t("put_off")}</button></div>`}
  </section>`;
}

function Act({ act, call }) {
  const { repair } = act;
  return html`<section class="next act sheet">
    <h2>${t("enough")}</h2>
    <p class="headline">${repair.title}</p>
    <p class="cost"><b>${repair.minutes}</b> · ${repair.where}</p>
    <p>${act.reason}</p>
    ${repair.unlikelier && html`<p class="hint">${t("quicker_first")}</p>`}
    <dl><dt>${t("proof")}</dt><dd>${repair.proof}: ${repair.proof_how}</dd>
      ${repair.ask.length > 0 && html`<dt>${t("ask_first")}</dt>`}${repair.ask.map((text) => html`<dd>${text}</dd>`)}
      ${repair.after.length > 0 && html`<dt>${t("then_look")}</dt>`}${repair.after.map((text) => html`<dd>${text}</dd>`)}</dl>
    <${Cautions} texts=${repair.cautions} />
    <a class="button main" href=${`#/call/${call.id}/fix`}>${t("to_fix")}</a>
  </section>`;
}

function Held({ one, call }) {
  const [reason, setReason] = useState("");
  return html`<section class="held sheet">
    <h2>■ ${t("held")}: ${one.withholds.join(", ")}</h2>
    <p>${one.text} ${one.why}</p>
    <p><b>${t("lifted_by")}:</b> ${one.lifts}</p>
    ${one.missing.map((name) => html`<${Sighting} call=${call} name=${name} key=${name} />`)}
    ${one.may_be_set_aside && html`<details><summary>${t("set_aside")}</summary>
      <${Field} label=${t("set_aside_reason")} value=${reason} onType=${setReason} />
      <button type="button" class="button" disabled=${!reason.trim()} onClick=${() => commit(call.id, `override ${one.guard}`, reason.trim())}>${t("set_aside")}</button>
    </details>`}
  </section>`;
}

export function ReadingField({ call, place, problem, prefix = "reading" }) {
  const row = app.lists?.places[place];
  const { units: system } = app.settings;
  const offered = { pressure: PRESSURES[system], temperature: TEMPERATURES[system] }[row?.dimension] ?? (row?.unit ? [row.unit] : []);
  return html`<${CallField} call=${call} name=${`${prefix} ${place}`} label=${tx(row?.title ?? place)} number units=${offered}
    problem=${problem} hint=${row?.unit ? t("bare_unit", { unit: row.unit }) : ""} />`;
}

function Readings({ call, around, page, problems }) {
  const [more, setMore] = useState(false);
  if (!around?.readings) return null;
  const beside = new Map((page?.readings ?? []).map((row) => [row.place, row]));
  const given = (place) => (call.fields[`reading ${place}`] ?? "") !== "";
  const shown = around.readings.filter((place, number) => more || number < FIRST_READINGS || given(place));
  const worked = (page?.readings ?? []).filter((row) => row.worked_out);
  const wrong = (place) => problems?.find((row) => row.field.endsWith(place))?.advice;
  return html`<section class="sheet" aria-labelledby="f2">
    <h2 id="f2">${t("readings")}</h2>
    ${shown.map((place) => html`<div class="taken" key=${place}>
      <${ReadingField} call=${call} place=${place} problem=${wrong(place)} />
      ${beside.has(place) && given(place) && html`<${Against} row=${beside.get(place)} />`}</div>`)}
    ${!more && html`<button type="button" class="button" onClick=${() => setMore(true)}>${t("more_readings")}</button>`}
    ${worked.length > 0 && html`<h3>${t("worked_out")}</h3>
      ${worked.map((row) => html`<div class="reading" key=${row.place}>
        <div class="reading-head"><span>${tx(row.title)}</span><span class="value">${row.value}</span></div><${Against} row=${row} /></div>`)}`}
  </section>`;
}

function Against({ row }) {
  const shape = { low: "▼", high: "▲" }[row.ruler.side] ?? "●";
  return html`<div class=${`against ${row.off ? "off" : ""}`}>
    <${Ruler} at=${row.ruler} label=${t("ruler_read", { value: row.value, band: row.band, verdict: row.verdict })} />
    <div class="reading-foot"><span><b class="verdict-word">${shape} ${tx(row.verdict)}</b> · ${t("should_be", { band: row.band })}</span>
      <span class="hint">${row.beside}</span></div></div>`;
}
