// One catalogue of messages; a language is a file in /messages. `t` takes a key, `tx` a text of the engine.
let messages = {};
let english = {};
export let language = "en";
export let languages = { en: "English" };

export async function loadWords(wanted) {
  const get = async (path) => (await fetch(path)).json();
  languages = await get("/messages/languages.json");
  english = await get("/messages/en.json");
  const asked = [wanted, ...navigator.languages.map((tag) => tag.slice(0, 2)), "en"];
  language = asked.find((code) => code && code in languages) ?? "en";
  messages = language === "en" ? english : await get(`/messages/${language}.json`);
  document.documentElement.lang = language;
}

export function t(key, values = {}) {
  const text = messages[key] ?? english[key] ?? key;
  return text.replace(/\{(\w+)\}/g, (_, name) => String(values[name] ?? ""));
}

export function tx(text) {
  return messages.engine?.[text] ?? text;
}
