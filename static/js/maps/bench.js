/* The map bench: boxes, drawing, tools and findings. */

import { goAbout } from "./cells.js";
import { makeChart } from "./chart.js";
import { makeCurve } from "./curve.js";
import { keepOnDevice, makeHistory, makeSnapshots } from "./kept-draft.js";
import "./surface.js";
import { layOutTools } from "./tools.js";

const PICTURES_AFTER_MS = 350; // the hand rests
const KEPT = "Your entries are kept on this device.";

const root = document.querySelector("[data-bench]");
const form = document.querySelector("#map-form");
const layers = document.querySelector("#layers");
const part = (name) => root.querySelector(`[data-${name}]`);

document.documentElement.classList.add("has-script");
for (const element of root.querySelectorAll("[data-with-script]")) element.hidden = element.disabled = false;

const isNarrow = part("chart").clientWidth < 480; // as timing.charts.page has it

const say = (text) => {
  part("says").textContent = text;
};

const post = async (url, data) => {
  data.set("csrfmiddlewaretoken", form.elements.csrfmiddlewaretoken.value);
  try {
    const answer = await fetch(url, { method: "POST", body: data, headers: { Accept: "application/json" } });
    if (answer.ok || answer.status === 422) return await answer.json();
    return { problem: `${answer.status === 401 ? "You are signed out" : "The workshop computer failed"}. ${KEPT}` };
  } catch {
    return { problem: `No network. ${KEPT}` };
  }
};

const curve = makeCurve(root);
const snapshots = makeSnapshots(form, curve);
const past = makeHistory(snapshots);

const clearRefusals = () => {
  for (const error of form.querySelectorAll(".cell-error, .field-error")) error.remove();
  for (const box of form.querySelectorAll("[aria-invalid]")) box.removeAttribute("aria-invalid");
  part("refused").replaceChildren();
};

const refuse = (box, text) => {
  if (!box) return;
  box.setAttribute("aria-invalid", "true");
  const error = document.createElement("span");
  error.className = "cell-error";
  error.textContent = text;
  (box.closest(".field-entry") ?? box).after(error);
};

const showRefusals = ({ cells, boxes, whole }) => {
  clearRefusals();
  for (const { name, place, text } of cells) refuse(form.querySelectorAll(`[name=${name}]`)[place], text);
  for (const [name, texts] of Object.entries(boxes)) {
    const box = form.elements.namedItem(name);
    if (box instanceof HTMLInputElement) refuse(box, texts.join(" "));
  }
  part("refused").textContent = whole.join(" ") || "Fix the red boxes first.";
};

let running = false;
let since = 0; // of the oldest change not asked about
let resting = 0;
let picturesDue = false;

/** One question at a time. */
const judge = async () => {
  since ||= performance.now();
  if (running) return;
  running = true;
  const start = since;
  since = 0;
  const data = new FormData(form);
  if (layers) for (const name of new FormData(layers).getAll("under")) data.append("under", name);
  if (picturesDue) data.set("picture", "all");
  if (isNarrow) data.set("narrow", "yes");
  const answer = await post(root.dataset.judge, data);
  running = false;
  const outdated = since > 0;
  if (outdated) judge();
  if (answer.problem) part("refused").textContent = answer.problem;
  else if (!answer.refused) take(answer);
  else if (!outdated) showRefusals(answer.refused);
  performance.measure("findings", { start });
};

const take = (answer) => {
  clearRefusals();
  chart.take(answer.chart);
  if (part("findings").innerHTML !== answer.findings) part("findings").innerHTML = answer.findings;
  part("fit").innerHTML = answer.fit;
  curve.showDelivered(answer.delivered);
  if (!answer.picture) return;
  document.querySelector("[data-pictures]").innerHTML = answer.picture;
  picturesDue = false;
};

const changed = () => {
  chart.redraw();
  keep();
  picturesDue = false;
  judge();
  clearTimeout(resting);
  resting = setTimeout(() => {
    picturesDue = true;
    judge();
  }, PICTURES_AFTER_MS);
};

const settled = () => past.push();
const goInTime = (action) => {
  settled(); // half typed is a step too
  if (past.go(action === "redo" ? 1 : -1)) changed();
  else say(`Nothing more to ${action}.`);
};
const on = { moved: changed, settled, say, post, goInTime };

const chart = makeChart(part("chart"), curve, on);
const keep = keepOnDevice({
  data: root.dataset,
  form,
  note: part("kept-note"),
  snapshots,
  changed: () => queueMicrotask(() => (settled(), changed())),
});
if (isNarrow) judge(); // the page is served for a desk
goAbout(root, curve, on);
layOutTools(part("curve-tools"), curve, on);

form.addEventListener("input", changed);
form.addEventListener("change", settled);
addEventListener("online", judge);
layers?.addEventListener("change", () => {
  history.replaceState(null, "", `?${new URLSearchParams(new FormData(layers))}`);
  judge();
});
curve.body.addEventListener("focusin", (event) => {
  const row = event.target.closest("tr");
  chart.point(curve.points().findIndex((point) => point.row === row));
});
root.addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!(event.ctrlKey || event.metaKey) || event.altKey || !["z", "y"].includes(key)) return;
  event.preventDefault();
  goInTime(key === "y" || event.shiftKey ? "redo" : "undo");
});
