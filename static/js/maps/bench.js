/* The map bench: ties boxes, drawing, tools and the server's findings together. */

import { goAbout } from "./cells.js";
import { makeChart } from "./chart.js";
import { makeCurve } from "./curve.js";
import { keepOnDevice, makeHistory, makeSnapshots } from "./kept-draft.js";
import "./surface.js";
import { layOutTools } from "./tools.js";

const PICTURES_AFTER_MS = 350; // the large pictures wait until the hand rests
const KEPT = "What you typed is kept on this device.";

const root = document.querySelector("[data-bench]");
const form = document.querySelector("#map-form");
const layers = document.querySelector("#layers");
const part = (name) => root.querySelector(`[data-${name}]`);

document.documentElement.classList.add("has-script");
for (const element of root.querySelectorAll("[data-with-script]")) element.hidden = element.disabled = false;

const say = (words) => {
  part("says").textContent = words;
};

const post = async (url, data) => {
  data.set("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
  try {
    const answer = await fetch(url, { method: "POST", body: data, headers: { Accept: "application/json" } });
    if (answer.ok || answer.status === 422) return await answer.json();
    say(`${answer.status === 401 ? "You are signed out" : "The workshop’s computer could not judge this"}. ${KEPT}`);
  } catch {
    say(`No network. ${KEPT}`);
  }
  return null;
};

const curve = makeCurve(root);
const snapshots = makeSnapshots(form, curve);
const served = snapshots.take();
const past = makeHistory(snapshots);

const clearRefusals = () => {
  for (const error of form.querySelectorAll(".cell-error, .field-error")) error.remove();
  for (const box of form.querySelectorAll("[aria-invalid]")) box.removeAttribute("aria-invalid");
  part("refused").replaceChildren();
};

const refuse = (box, words) => {
  if (!box) return;
  box.setAttribute("aria-invalid", "true");
  const error = document.createElement("span");
  error.className = "cell-error";
  error.textContent = words;
  (box.closest(".field-entry") ?? box).after(error);
};

const showRefusals = ({ cells, boxes, whole }) => {
  for (const { name, place, words } of cells) refuse(form.querySelectorAll(`[name=${name}]`)[place], words);
  for (const [name, words] of Object.entries(boxes)) {
    const box = form.elements.namedItem(name);
    if (box instanceof HTMLInputElement) refuse(box, words.join(" "));
  }
  part("refused").textContent = whole.join(" ") || "Refused: see beside it. Findings wait.";
};

let running = false;
let again = false;
let pictures = 0;

/** Asks for findings; while one answer is on its way, only the newest question waits. */
const judge = async (withPictures = false) => {
  if (running) {
    again = true;
    return;
  }
  running = true;
  const begun = performance.now();
  const data = new FormData(form);
  if (layers) for (const name of new FormData(layers).getAll("under")) data.append("under", name);
  if (withPictures) data.set("picture", "all");
  const answer = await post(root.dataset.judge, data);
  running = false;
  if (answer && !again) {
    clearRefusals();
    if (answer.refused) showRefusals(answer.refused);
    else take(answer);
    performance.measure("findings", { start: begun, end: performance.now() });
  }
  if (again) {
    again = false;
    judge();
  }
};

const take = (answer) => {
  chart.take(answer.chart);
  if (part("findings").innerHTML !== answer.findings) part("findings").innerHTML = answer.findings;
  part("fit").innerHTML = answer.fit;
  curve.showHeld(answer.held);
  if (answer.picture) document.querySelector("[data-pictures]").innerHTML = answer.picture;
};

const changed = () => {
  chart.redraw();
  keep();
  judge();
  clearTimeout(pictures);
  pictures = setTimeout(() => judge(true), PICTURES_AFTER_MS);
};

const settled = () => past.push();
const on = {
  moved: changed,
  settled,
  say,
  post,
  undo: () => (past.undo() ? changed() : say("Nothing more to undo.")),
  redo: () => (past.redo() ? changed() : say("Nothing more to redo.")),
};

const chart = makeChart(part("chart"), curve, on);
const keep = keepOnDevice({
  name: root.dataset.kept,
  form,
  note: part("kept-note"),
  snapshots,
  served,
  unstored: "unstored" in root.dataset,
  changed: () => queueMicrotask(() => (settled(), changed())),
});
goAbout(root, curve, on);
layOutTools(part("curve-tools"), curve, on);

form.addEventListener("input", changed);
form.addEventListener("change", settled);
layers?.addEventListener("change", () => {
  history.replaceState(null, "", `?${new URLSearchParams(new FormData(layers))}`);
  judge();
});
curve.body.addEventListener("focusin", (event) => {
  const row = event.target.closest("tr");
  chart.point(curve.nodes().findIndex((node) => node.row === row));
});
document.addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.altKey || !["z", "y"].includes(event.key.toLowerCase())) return;
  event.preventDefault();
  if (event.key.toLowerCase() === "y" || event.shiftKey) on.redo();
  else on.undo();
});
