// The bench: saturation, superheat and subcooling, units, without a unit or a call.
import { html } from "/vendor/htm/standalone.module.js";
import { ask, engine } from "./engine.js";
import { Field, Problems, Select, useAnswer } from "./parts.js";
import { app, draft, typeDraft, units } from "./state.js";
import { t } from "./words.js";

export const PRESSURES = { us: ["psig", "in.Hg"], si: ["barg", "kPa"] };
export const TEMPERATURES = { us: ["F", "C"], si: ["C", "F"] };

export function gasOptions() {
  return (app.lists?.refrigerants ?? []).map((one) => [one.name, `${one.name}  ${one.safety_class}`]);
}

export function Bench() {
  const typed = draft("bench");
  const say = (name) => (value) => typeDraft("bench", name, value);
  const gas = typed.refrigerant;
  const { units: system, altitude } = app.settings;
  const watch = [gas, system, altitude, engine.state];
  const either = [...PRESSURES[system], ...TEMPERATURES[system]];
  const saturation = useAnswer(() => gas && typed.reading?.trim() &&
    ask("saturation", { ...units(), refrigerant: gas, reading: typed.reading }), [typed.reading, ...watch]);
  const state = useAnswer(() => gas && typed.pressure?.trim() && typed.temperature?.trim() &&
    ask("state", { ...units(), refrigerant: gas, pressure: typed.pressure, temperature: typed.temperature }),
  [typed.pressure, typed.temperature, ...watch]);
  const converted = useAnswer(() => typed.text?.trim() && ask("convert", { ...units(), text: typed.text }),
    [typed.text, ...watch]);
  return html`
    <h1>${t("bench")}</h1>
    <${Select} label=${t("refrigerant")} value=${gas} options=${gasOptions()} onPick=${say("refrigerant")} />
    <section class="sheet" aria-labelledby="b1">
      <h2 id="b1">${t("saturation")}</h2>
      <${Field} label=${t("pressure_or_temperature")} value=${typed.reading} onType=${say("reading")} number units=${either}
        hint=${t("bare_pressure", { unit: PRESSURES[system][0] })} name="reading" />
      ${saturation?.error && html`<${Problems} rows=${saturation.error} />`}
      ${saturation?.shown && html`<div class="big-row" aria-live="polite">
        <${Big} label=${t("dew")} value=${saturation.shown.dew} note=${t("dew_note")} />
        <${Big} label=${t("bubble")} value=${saturation.shown.bubble} note=${t("bubble_note")} />
        ${saturation.shown.glide && html`<p class="hint">${t("glide")}: ${saturation.shown.glide}</p>`}
      </div>`}
    </section>
    <section class="sheet" aria-labelledby="b2">
      <h2 id="b2">${t("superheat_subcooling")}</h2>
      <div class="pair">
        <${Field} label=${t("pressure")} value=${typed.pressure} onType=${say("pressure")} number units=${PRESSURES[system]} name="pressure" />
        <${Field} label=${t("pipe_temperature")} value=${typed.temperature} onType=${say("temperature")} number units=${TEMPERATURES[system]} name="temperature" />
      </div>
      ${state?.error && html`<${Problems} rows=${state.error} />`}
      ${state?.shown && html`<div class="big-row" aria-live="polite">
        ${state.shown.superheat && html`<${Big} label=${t("superheat")} value=${state.shown.superheat} note=${t("above_dew", { at: state.shown.dew })} />`}
        ${state.shown.subcooling && html`<${Big} label=${t("subcooling")} value=${state.shown.subcooling} note=${t("below_bubble", { at: state.shown.bubble })} />`}
        ${state.phase === "wet" && html`<p>${t("wet", { bubble: state.shown.bubble, dew: state.shown.dew })}</p>`}
      </div>`}
    </section>
    <section class="sheet" aria-labelledby="b3">
      <h2 id="b3">${t("conversion")}</h2>
      <${Field} label=${t("number_and_unit")} value=${typed.text} onType=${say("text")} number units=${["psig", "F", "lb", "Btu/h", "ft", "barg", "C", "kg"]} name="text" />
      ${converted?.error && html`<${Problems} rows=${converted.error} />`}
      ${converted?.rows?.map((row) => html`<div class="big-row"><${Big} label="US" value=${row.us} /><${Big} label="SI" value=${row.si} /></div>`)}
    </section>
    ${engine.state !== "ready" && html`<p class="hint" role="status">${t("engine_first")}</p>`}`;
}

export function Big({ label, value, note }) {
  const [number, ...unit] = String(value).split(" ");
  return html`<div class="big"><span class="label">${label}</span>
    <span class="number">${number}<small> ${unit.join(" ")}</small></span>${note && html`<span class="hint">${note}</span>`}</div>`;
}
