// Fix, Prove and Hand over: plain lists of what was done, what stands proved, and what is still to put back.
import { html, useState } from "/vendor/htm/standalone.module.js";
import { ReadingField } from "./find.js";
import { useWalk } from "./calls.js";
import { Choice, Field, Select } from "./parts.js";
import { app, commit, draft, typeDraft } from "./state.js";
import { newId } from "./store.js";
import { t, tx } from "./words.js";

export const listOf = (call, kind) => Object.entries(call.said)
  .filter(([key, { value }]) => key.startsWith(`${kind} `) && value !== "")
  .map(([key, { value, at }]) => ({ key, value, at }));

export const temporaryLeft = (call) => listOf(call, "temporary").filter((one) => !one.value.startsWith("restored: ")).map((one) => one.value);

// A list one adds lines to; what is half typed is kept under the call's name.
function Lines({ call, kind, label, add, hint, onRestore }) {
  const key = `lines ${call.id}`;
  const typed = draft(key)[kind] ?? "";
  const put = async () => {
    await commit(call.id, `${kind} ${newId()}`, typed.trim());
    typeDraft(key, kind, "");
  };
  return html`<section class="sheet">
    <h2>${label}</h2>
    <ul class="lines">${listOf(call, kind).map((one) => html`<li key=${one.key}><span>${one.value}</span>
      ${onRestore && !one.value.startsWith("restored: ") && html`<button type="button" class="button" onClick=${() => onRestore(one)}>${t("restored")}</button>`}</li>`)}</ul>
    <${Field} label=${add} value=${typed} onType=${(value) => typeDraft(key, kind, value)} hint=${hint} />
    <button type="button" class="button" disabled=${!typed.trim()} onClick=${put}>${t("add")}</button>
  </section>`;
}

export function Fix({ call }) {
  const suspects = call.last?.page.suspects ?? [];
  const repairs = listOf(call, "repair");
  const faults = new Map(suspects.map((one) => [one.fault, one.title]));
  return html`
    <${Lines} call=${call} kind="temporary" label=${`■ ${t("temporary")}`} add=${t("temporary_add")} hint=${t("temporary_hint")}
      onRestore=${(one) => commit(call.id, one.key, `restored: ${one.value}`)} />
    <section class="sheet"><h2>${t("repaired")}</h2>
      ${suspects.length === 0 && repairs.length === 0 && html`<p class="quiet">${t("no_suspects_yet")}</p>`}
      ${[...faults].map(([fault, title]) => html`<${Choice} label=${title} value=${call.fields[`repair ${fault}`]}
        options=${[["fixed", t("repair_fixed")], ["symptom_stays", t("repair_symptom_stays")], ["unknown", t("repair_unknown")]]}
        onPick=${(value) => commit(call.id, `repair ${fault}`, value)} key=${fault} />`)}
    </section>
    <${Lines} call=${call} kind="work" label=${t("work")} add=${t("work_add")} />
    <${Lines} call=${call} kind="part" label=${t("part")} add=${t("part_add")} hint=${t("part_hint")} />
    <${Refrigerant} call=${call} />
    <a class="button main" href=${`#/call/${call.id}/prove`}>${t("to_prove")}</a>`;
}

// Weights of refrigerant are records: they become an entry only when confirmed, and are corrected by a new line.
function Refrigerant({ call }) {
  const key = `lines ${call.id}`;
  const typed = draft(key);
  const say = (name) => (value) => typeDraft(key, name, value);
  const put = async () => {
    const words = [t(`gas_${typed.gasWay}`), typed.gasWeight.trim(), typed.gasCylinder?.trim()].filter(Boolean).join(", ");
    await commit(call.id, `refrigerant ${newId()}`, words);
    for (const name of ["gasWay", "gasWeight", "gasCylinder"]) typeDraft(key, name, "");
  };
  return html`<section class="sheet"><h2>${t("gas")}</h2>
    <ul class="lines">${listOf(call, "refrigerant").map((one) => html`<li key=${one.key}>${one.value}</li>`)}</ul>
    <${Select} label=${t("gas_way")} value=${typed.gasWay} onPick=${say("gasWay")} options=${[["in", t("gas_in")], ["out", t("gas_out")]]} />
    <div class="pair"><${Field} label=${t("gas_weight")} value=${typed.gasWeight} onType=${say("gasWeight")} number units=${["lb", "oz", "kg", "g"]} />
      <${Field} label=${t("gas_cylinder")} value=${typed.gasCylinder} onType=${say("gasCylinder")} /></div>
    <button type="button" class="button" disabled=${!typed.gasWay || !typed.gasWeight?.trim()} onClick=${put}>${t("gas_confirm")}</button>
  </section>`;
}

export function Prove({ call }) {
  const around = useWalk(call);
  const found = listOf(call, "reading");
  const places = found.length ? found.map((one) => one.key.slice(8)) : (around?.readings ?? []).slice(0, 6);
  return html`
    <section class="sheet"><h2>${t("found_and_left")}</h2>
      <p class="quiet">${t("found_and_left_lead")}</p>
      ${places.map((place) => html`<div class="taken" key=${place}><p class="as-found">${t("as_found")}: <b>${call.said[`reading ${place}`]?.value || "–"}</b></p>
        <${ReadingField} call=${call} place=${place} prefix="left" /></div>`)}
    </section>
    <section class="sheet"><h2>${t("proved")}</h2><${Proved} call=${call} /></section>
    <a class="button main" href=${`#/call/${call.id}/handover`}>${t("to_handover")}</a>`;
}

export function Proved({ call }) {
  const repairs = listOf(call, "repair");
  const names = new Map((call.last?.page.suspects ?? []).map((one) => [one.fault, one.title]));
  const title = (key) => names.get(key.slice(7)) ?? key.slice(7).replaceAll("_", " ");
  const left = listOf(call, "left");
  const open = temporaryLeft(call);
  return html`<ul class="lines">
    ${repairs.map((one) => html`<li>${one.value === "fixed" ? "●" : "○"} ${title(one.key)}: ${t(`repair_${one.value}`)}</li>`)}
    ${repairs.length === 0 && html`<li>○ ${t("no_repair")}</li>`}
    <li>${left.length ? "●" : "○"} ${left.length ? t("left_taken", { n: left.length }) : t("left_missing")}</li>
    <li>${open.length ? "■" : "●"} ${open.length ? t("temporary_open", { n: open.length }) : t("temporary_none")}</li>
  </ul>`;
}

export function HandOver({ call }) {
  const open = temporaryLeft(call);
  const closed = call.said["close call"]?.value;
  const [how, setHow] = useState("");
  return html`
    <section class="sheet"><h2>${t("part_handover")}</h2>
      <${Proved} call=${call} />
      ${closed ? html`<p><strong>● ${t("closed")}: ${t(`close_${closed}`)}</strong></p>
        <button type="button" class="button" onClick=${() => commit(call.id, "close call", "")}>${t("reopen")}</button>` : html`
        <${Choice} label=${t("close_how")} value=${how} onPick=${setHow} options=${[["repaired", t("close_repaired")], ["no_fault", t("close_no_fault")], ["follow_up", t("close_follow_up")]]} />
        ${open.length > 0 && html`<p class="temporary">■ ${t("cannot_close")} ${open.join("; ")}</p>`}
        <button type="button" class="button main" disabled=${!how || open.length > 0} onClick=${() => commit(call.id, "close call", how)}>${t("close_call")}</button>`}
    </section>
    <a class="button" href=${`#/report/${call.id}`}>${t("report")}</a>`;
}
