// Small parts that screens are made of: fields with their number pad, choices, rulers, problems.
import { html, useEffect, useLayoutEffect, useRef, useState } from "/vendor/htm/standalone.module.js";
import { t, tx } from "./words.js";

export const coarse = () => matchMedia("(pointer: coarse)").matches;

let labels = 0;
function useLabel() {
  const [id] = useState(() => `field-${(labels += 1)}`);
  return id;
}

// The room below the page stays a moment after the pad has gone, or the button being tapped would slip away.
const ROOM_STAYS_MS = 400;
let padsOpen = 0;

// A text typed as spoken. `units` are offered on the pad; `number` brings the pad on a touch screen.
export function Field({ label, value, onType, onLeave, hint, units = [], number = false, problem, wide, name }) {
  const id = useLabel();
  const [pad, setPad] = useState(false);
  const [letters, setLetters] = useState(false);
  const input = useRef(null);
  const touch = number && coarse();
  const leave = () => {
    setPad(false);
    setLetters(false);
    onLeave?.();
  };
  useLayoutEffect(() => {
    if (!pad) return undefined;
    padsOpen += 1;
    document.body.classList.add("pad-open");
    input.current.scrollIntoView({ block: "center" });
    return () => setTimeout(() => {
      padsOpen -= 1;
      document.body.classList.toggle("pad-open", padsOpen > 0);
    }, ROOM_STAYS_MS);
  }, [pad]);
  const described = [hint && `${id}h`, problem && `${id}p`].filter(Boolean).join(" ") || undefined;
  return html`<div class=${`field ${wide ? "wide" : ""} ${problem ? "wrong" : ""}`}>
    <label for=${id}>${label}</label>
    <input id=${id} ref=${input} name=${name} value=${value ?? ""} autocomplete="off" autocapitalize="off"
      spellcheck=${false} inputmode=${touch && !letters ? "none" : "text"} aria-describedby=${described}
      aria-invalid=${problem ? "true" : undefined}
      onInput=${(event) => onType(event.target.value)}
      onFocus=${() => touch && setPad(true)} onBlur=${leave}
      onKeyDown=${(event) => event.key === "Enter" && event.target.blur()} />
    ${hint && html`<p class="hint" id=${`${id}h`}>${hint}</p>`}
    ${problem && html`<p class="problem" id=${`${id}p`}>▲ ${problem}</p>`}
    ${pad && !letters && html`<${Pad} input=${input} units=${units} onType=${onType} onLetters=${() => {
      setLetters(true);
      setTimeout(() => input.current?.focus());
    }} />`}
  </div>`;
}

const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", "−", "0", "."];

// Keys a glove can hit; pressing one never takes the focus from the field.
function Pad({ input, units, onType, onLetters }) {
  const stay = (event) => event.preventDefault();
  const write = (next) => onType(next);
  const typed = () => input.current.value;
  const key = (text) => {
    const now = typed();
    write(text === "−" ? (now.startsWith("-") ? now.slice(1) : `-${now}`) : now + text);
  };
  const unit = (text) => write(`${typed().replace(/\s*[^\d.,\s/-][^\d]*$/, "").trim()} ${text}`);
  return html`<div class="pad" onPointerDown=${stay} onMouseDown=${stay} role="group" aria-label=${t("pad")}>
    ${units.length > 0 && html`<div class="pad-units">
      ${units.map((text) => html`<button type="button" tabindex="-1" onClick=${() => unit(text)}>${text}</button>`)}
    </div>`}
    <div class="pad-keys">
      ${KEYS.map((text) => html`<button type="button" tabindex="-1" onClick=${() => key(text)}
        aria-label=${text === "−" ? t("minus") : text}>${text}</button>`)}
      <button type="button" tabindex="-1" onClick=${onLetters}>abc</button>
      <button type="button" tabindex="-1" onClick=${() => write(typed().slice(0, -1))} aria-label=${t("rub_out")}>⌫</button>
      <button type="button" tabindex="-1" class="main" onClick=${() => input.current.blur()}>${t("enter")}</button>
    </div>
  </div>`;
}

// One of a few words, as buttons. `options`: [value, words].
export function Choice({ label, value, options, onPick, problem }) {
  return html`<fieldset class="choice">
    <legend>${label}</legend>
    <div class="choices">
      ${options.map(([key, words]) => html`<button type="button" aria-pressed=${value === key ? "true" : "false"}
        class=${value === key ? "picked" : ""} onClick=${() => onPick(value === key ? "" : key)}>
        <span aria-hidden="true">${value === key ? "●" : "○"}</span> ${words}</button>`)}
    </div>
    ${problem && html`<p class="problem">▲ ${problem}</p>`}
  </fieldset>`;
}

export function Select({ label, value, options, onPick, problem }) {
  const id = useLabel();
  return html`<div class=${`field ${problem ? "wrong" : ""}`}>
    <label for=${id}>${label}</label>
    <select id=${id} value=${value ?? ""} onChange=${(event) => onPick(event.target.value)}>
      <option value="">${t("choose")}</option>
      ${options.map(([key, words]) => html`<option value=${key} selected=${key === value}>${words}</option>`)}
    </select>
    ${problem && html`<p class="problem">▲ ${problem}</p>`}
  </div>`;
}

// A number against its band: the band is the thick part, the value a tick; outside, the mark is an arrow.
export function Ruler({ at, label }) {
  const x = (share) => 4 + 292 * share;
  const marks = [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1];
  const side = at.side ?? "none";
  const mark = at.value === undefined ? null : x(at.value);
  return html`<svg class=${`ruler ${side}`} viewBox="0 0 300 26" role="img" aria-label=${label} preserveAspectRatio="none">
    <line class="edge" x1="4" y1="18" x2="296" y2="18" />
    ${marks.map((share) => html`<line class="edge" x1=${x(share)} y1="18" x2=${x(share)} y2=${share * 10 % 5 ? 22 : 24} />`)}
    <rect class="band" x=${x(at.low)} y="13" width=${x(at.high) - x(at.low)} height="5" />
    ${at.normal !== undefined && html`<line class="usual" x1=${x(at.normal)} y1="10" x2=${x(at.normal)} y2="18" />`}
    ${mark !== null && html`<line class="tick" x1=${mark} y1="1" x2=${mark} y2="24" />`}
    ${side === "high" && html`<path class="arrow" d=${`M${mark - 11} 2h8v-2l6 5-6 5v-2h-8z`} />`}
    ${side === "low" && html`<path class="arrow" d=${`M${mark + 11} 2h-8v-2l-6 5 6 5v-2h8z`} />`}
  </svg>`;
}

export function Problems({ rows }) {
  if (!rows?.length) return null;
  return html`<div class="problems" role="alert">
    ${rows.map((row) => html`<p>▲ <strong>${row.field}</strong> ${row.value ? `(${row.value}) ` : ""}${row.advice}
      ${row.allowed && row.allowed.length < 90 ? html` <span class="hint">${t("allowed")}: ${row.allowed}</span>` : ""}</p>`)}
  </div>`;
}

export function Cautions({ texts }) {
  if (!texts?.length) return null;
  return html`<ul class="cautions">${texts.map((text) => html`<li><span aria-hidden="true">⚠</span>
    <span><strong>${t("caution")}:</strong> ${tx(text)}</span></li>`)}</ul>`;
}

// The latest answer for what is typed now; an older answer never overwrites a newer one.
export function useAnswer(work, watched) {
  const [answer, setAnswer] = useState(null);
  const turn = useRef(0);
  useEffect(() => {
    const mine = (turn.current += 1);
    const asked = work();
    if (!asked) {
      setAnswer(null);
      return;
    }
    asked.then(
      (found) => mine === turn.current && setAnswer(found),
      (problem) => mine === turn.current && setAnswer({ error: [{ field: "", value: "", allowed: "", advice: String(problem) }] }),
    );
  }, watched);
  return answer;
}
