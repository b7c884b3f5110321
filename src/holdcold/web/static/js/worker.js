// The engine's side: CPython with the pure rooms, answering one request at a time. Everything comes from this
// origin. A request is {id, request} with JSON text; the reply {id, answer} or {id, failure}.
import { loadPyodide } from "/vendor/pyodide/pyodide.mjs";
import { ARCHIVE } from "./release.js";

const PLACE = "/engine.zip";

const ready = start();
ready.catch((problem) => self.postMessage({ state: "failed", text: String(problem) }));

async function start() {
  const began = performance.now();
  const stored = fetch(ARCHIVE).then((reply) => {
    if (!reply.ok) throw new Error(`${ARCHIVE}: ${reply.status}`);
    return reply.arrayBuffer();
  });
  const python = await loadPyodide({ indexURL: "/vendor/pyodide/", checkAPIVersion: false });
  const interpreter = performance.now();
  python.FS.writeFile(PLACE, new Uint8Array(await stored));
  const answer = python.runPython(`
import sys
sys.path.insert(0, "${PLACE}")
from holdcold.answers.desk import answer
answer
`);
  self.postMessage({
    state: "ready",
    milliseconds: { interpreter: interpreter - began, all: performance.now() - began },
  });
  return answer;
}

self.onmessage = async ({ data }) => {
  try {
    const answer = await ready;
    self.postMessage({ id: data.id, answer: answer(data.request) });
  } catch (problem) {
    self.postMessage({ id: data.id, failure: String(problem) });
  }
};
