/* The time line of a log: scrolled by finger, mouse or arrow keys, zoomed by two fingers, wheel, keys or buttons. A note
 * dragged along its row shifts the log's clock; the form beneath is filled, and saved by hand. */

import { acrossOf, colours, draw, NOTES } from "./drawing.js";
import { clock, moved, pinched, zoomed } from "./view.js";
import { Windows } from "./windows.js";

const root = document.querySelector("[data-time-line]");
const canvas = root.querySelector("canvas");
const says = root.querySelector("[data-says]");
const log = JSON.parse(document.getElementById("time-line-data").textContent);
const form = document.querySelector("[data-clock]");
const { duration } = log;
const CLOSER = 0.5;
const NOTE_REACH = 24; // [px]

let view = { from: 0, to: duration };
let shift = 0;
let ink = colours();
let isDue = false;

const windows = new Windows(log, () => drawSoon());

const tell = () => {
  const near = view.to - view.from < 60;
  says.textContent = `${clock(view.from, near)} to ${clock(view.to, near)} of ${clock(duration)} (${duration < 3600 ? "min:s" : "h:min:s"})`;
  root.dataset.from = view.from.toFixed(2);
  root.dataset.to = view.to.toFixed(2);
};

const drawNow = () => {
  isDue = false;
  draw(canvas, { ...log, view, data: windows.best(view), shift }, ink);
};

const drawSoon = () => {
  if (isDue) return;
  isDue = true;
  requestAnimationFrame(drawNow);
};

const show = (next, isTold = true) => {
  view = next;
  if (isTold) tell();
  drawSoon();
};

const middle = () => (view.from + view.to) / 2;
const MOVES = {
  earlier: () => moved(view, -0.25, duration),
  later: () => moved(view, 0.25, duration),
  closer: () => zoomed(view, CLOSER, middle(), duration),
  wider: () => zoomed(view, 1 / CLOSER, middle(), duration),
  whole: () => ({ from: 0, to: duration }),
  first: () => moved(view, -1e9, duration),
  last: () => moved(view, 1e9, duration),
};
const KEYS = {
  ArrowLeft: "earlier",
  ArrowRight: "later",
  "+": "closer",
  "=": "closer",
  "-": "wider",
  0: "whole",
  Home: "first",
  End: "last",
};

canvas.addEventListener("keydown", (event) => {
  const move = KEYS[event.key];
  if (!move || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  show(MOVES[move]());
});
for (const button of root.querySelectorAll("[data-move]"))
  button.addEventListener("click", () => show(MOVES[button.dataset.move]()));

canvas.addEventListener(
  "wheel",
  (event) => {
    if (!event.ctrlKey && Math.abs(event.deltaX) <= Math.abs(event.deltaY)) return; // the page's own
    event.preventDefault();
    const across = acrossOf(canvas.clientWidth, view);
    if (event.ctrlKey) show(zoomed(view, Math.exp(event.deltaY / 200), across.t(event.offsetX), duration));
    else show(moved(view, event.deltaX / canvas.clientWidth, duration));
  },
  { passive: false },
);

const placeOf = (event) => {
  const box = canvas.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
};

const shareOf = (x) => {
  const across = acrossOf(canvas.clientWidth, { from: 0, to: 1 });
  return across.t(x);
};

const noteAt = ({ x, y }) => {
  if (y > NOTES || !form) return null;
  const across = acrossOf(canvas.clientWidth, view);
  const reach = (note) => Math.abs(across.x(note.at + shift) - x);
  const nearest = log.notes.toSorted((one, other) => reach(one) - reach(other))[0];
  return nearest && reach(nearest) <= NOTE_REACH ? nearest : null;
};

const fingers = new Map();
let held = null; // what the fingers hold: the moments under them, or a note

const hold = () => {
  const across = acrossOf(canvas.clientWidth, view);
  held = { moments: [...fingers.values()].map(({ x }) => across.t(x)) };
};

const fillClock = () => {
  const box = form.elements.namedItem("begins_s");
  // A note further along the log means a log that began earlier.
  box.value = String(Math.round((log.begins - shift) * 10) / 10);
  const by = `${shift < 0 ? "−" : "+"}${Math.abs(shift).toFixed(1)}`;
  form.querySelector("[data-clock-says]").textContent = `Notes moved by ${by} s. Not saved yet.`;
};

canvas.addEventListener("pointerdown", (event) => {
  if (event.button !== 0) return;
  canvas.setPointerCapture(event.pointerId);
  const place = placeOf(event);
  fingers.set(event.pointerId, place);
  const note = fingers.size === 1 ? noteAt(place) : null;
  if (note) held = { note, from: shift, x: place.x };
  else hold();
});

canvas.addEventListener("pointermove", (event) => {
  if (!fingers.has(event.pointerId) || held === null) return;
  fingers.set(event.pointerId, placeOf(event));
  const places = [...fingers.values()];
  if (held.note) {
    const across = acrossOf(canvas.clientWidth, view);
    shift = held.from + across.t(places[0].x) - across.t(held.x);
    fillClock();
    drawSoon();
  } else if (places.length === 1) {
    const across = acrossOf(canvas.clientWidth, view);
    const by = held.moments[0] - across.t(places[0].x);
    show(moved(view, by / (view.to - view.from), duration), false);
  } else {
    const next = pinched(held.moments, places.slice(0, 2).map(({ x }) => shareOf(x)), duration);
    if (next) show(next, false);
  }
});

const letGo = (event) => {
  if (!fingers.delete(event.pointerId)) return;
  if (fingers.size && held && !held.note) hold();
  else held = null;
  tell();
};
canvas.addEventListener("pointerup", letGo);
canvas.addEventListener("pointercancel", letGo);

const recolour = () => {
  ink = colours();
  drawSoon();
};
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", recolour);
new MutationObserver(recolour).observe(document.documentElement, { attributeFilter: ["data-theme"] });

root.hidden = false;
new ResizeObserver(drawSoon).observe(canvas);
tell();
try {
  await windows.open();
  root.dataset.ready = "yes";
  drawSoon();
} catch {
  says.textContent = "The time line could not be loaded. The table below shows it.";
}
