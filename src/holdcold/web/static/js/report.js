// A plain page that prints: what was found, done, proved and not proved on one call.
import { html } from "/vendor/htm/standalone.module.js";
import { nameOf } from "./calls.js";
import { app } from "./state.js";
import { t, tx } from "./words.js";
import { listOf, Proved } from "./work.js";

export function Report({ id }) {
  const call = app.calls.get(id);
  if (!call) return html`<main><p>${t("gone")}</p></main>`;
  const page = call.last?.page;
  const bands = new Map((page?.readings ?? []).map((row) => [row.place, row]));
  const said = (key) => call.said[key]?.value;
  const complaint = said("condition complaint");
  return html`<main class="report" id="main">
    <p class="no-print"><a class="button" href=${`#/call/${id}/handover`}>${t("back")}</a>
      <button type="button" class="button main" onClick=${() => window.print()}>${t("print")}</button></p>
    <h1>${nameOf(call)}</h1>
    <p>${app.cards.get(call.card)?.heading ?? ""}<br/>${new Date(call.made).toLocaleString(document.documentElement.lang)}</p>
    <h2>${t("part_arrive")}</h2>
    <p>${complaint ? t(`complaint_${complaint}`) : "–"}${page ? html`<br/>${t("air_line", page.air)}` : ""}</p>
    ${listOf(call, "note").map((one) => html`<p>${t(one.key.slice(5))}: ${one.value}</p>`)}
    <h2>${t("readings")}</h2>
    <table><thead><tr><th>${t("place")}</th><th>${t("as_found")}</th><th>${t("should_read_short")}</th><th>${t("as_left")}</th></tr></thead>
      <tbody>${listOf(call, "reading").map((one) => {
        const place = one.key.slice(8);
        return html`<tr><td>${tx(app.lists?.places[place]?.title ?? place)}</td><td>${bands.get(place)?.value ?? one.value}</td>
          <td>${bands.get(place)?.band ?? "–"}</td><td>${said(`left ${place}`) || "–"}</td></tr>`;
      })}</tbody></table>
    <h2>${t("seen")}</h2>
    <ul>${listOf(call, "sighting").filter((one) => one.value !== "not looked").map((one) => {
      const row = app.lists?.sightings[one.key.slice(9)];
      return html`<li>${tx(row?.title ?? one.key.slice(9))}: ${tx(row?.values.find(([value]) => value === one.value)?.[1] ?? one.value)}</li>`;
    })}</ul>
    ${page && html`<h2>${t("part_find")}</h2><p><strong>${page.headline}</strong></p>
      <ul>${page.suspects.map((one) => html`<li>${one.title}: ${one.words}. ${t("because")}: ${one.because.join("; ")}.</li>`)}</ul>
      <p class="hint">${t("computed_at", { time: new Date(call.last.at).toLocaleString(document.documentElement.lang) })}</p>`}
    <h2>${t("part_fix")}</h2>
    <ul>${["work", "part", "refrigerant", "temporary"].flatMap((kind) => listOf(call, kind)).map((one) => html`<li>${one.value}</li>`)}</ul>
    <h2>${t("proved")}</h2><${Proved} call=${call} />
    <p class="hint">${t("report_small")}</p>
  </main>`;
}
