// What is mine: units, language, looks; what waits to be sent, and copies of it.
import { html, useEffect, useState } from "/vendor/htm/standalone.module.js";
import { engine } from "./engine.js";
import { Choice, Field, Select } from "./parts.js";
import { app, loadState, saveCopy, set } from "./state.js";
import { keeping, takeCopy } from "./store.js";
import { languages, loadWords, t } from "./words.js";

export function Mine({ release, archive, shell }) {
  const mine = app.settings;
  const [came, setCame] = useState("");
  const [lasting, setLasting] = useState(null);
  useEffect(() => {
    navigator.storage?.persisted?.().then(setLasting);
  }, []);
  const speak = async (code) => {
    await loadWords(code);
    set("language", code);
  };
  const take = async (event) => {
    const [file] = event.target.files;
    if (!file) return;
    try {
      const count = await takeCopy(await file.text());
      await loadState();
      setCame(t("copy_came", { n: count }));
    } catch (problem) {
      setCame(`▲ ${t("copy_bad")} ${problem.message ?? ""}`);
    }
    set("units", app.settings.units);
  };
  return html`
    <h1>${t("mine")}</h1>
    <section class="sheet"><h2>${t("waiting_work")}</h2>
      <p><b class="count">${keeping.pending}</b> ${t("pending_entries")}</p>
      <p class="quiet">${t("nothing_to_send_to")}</p>
      <div class="row"><button type="button" class="button main" onClick=${saveCopy}>${t("save_copy")}</button>
        <label class="button file">${t("take_copy")}<input type="file" aria-label=${t("take_copy")} accept=".json,application/json" onChange=${take} /></label></div>
      <p role="status">${came}</p>
      <p class="hint">${lasting === true ? t("lasting_yes") : t("lasting_no")}</p>
      ${lasting === false && html`<button type="button" class="button" onClick=${async () => setLasting(await navigator.storage.persist())}>${t("ask_lasting")}</button>`}
    </section>
    <section class="sheet"><h2>${t("settings")}</h2>
      <${Choice} label=${t("units_shown")} value=${mine.units} options=${[["us", t("units_us")], ["si", t("units_si")]]} onPick=${(value) => value && set("units", value)} />
      <${Field} label=${t("altitude")} value=${mine.altitude} onType=${(value) => set("altitude", value)} number units=${["ft", "m"]} hint=${t("altitude_hint")} name="altitude" />
      <${Select} label=${t("language")} value=${document.documentElement.lang} options=${Object.entries(languages)} onPick=${speak} />
      <${Choice} label=${t("theme")} value=${mine.theme} options=${[["auto", t("theme_auto")], ["light", t("theme_light")], ["dark", t("theme_dark")]]} onPick=${(value) => set("theme", value || "auto")} />
      <${Choice} label=${t("numbers")} value=${mine.numbers ? "yes" : "no"} options=${[["no", t("numbers_no")], ["yes", t("numbers_yes")]]} onPick=${(value) => set("numbers", value === "yes")} />
    </section>
    <section class="sheet"><h2>${t("about")}</h2>
      <p class="hint">${shell.offline ? t("offline_ready") : t("offline_not_yet")}</p>
      <p class="hint">${engine.milliseconds ? t("engine_took", { s: (engine.milliseconds.all / 1000).toFixed(1) }) : ""}</p>
      <p class="hint">${t("release")} ${release}<br/>${archive.split("/").pop()}</p>
      <p class="hint">${t("safety")}</p>
    </section>`;
}
