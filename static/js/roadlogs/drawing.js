/* The time line on its canvas: speed, vacuum and advance one above the other, notes in a row of their own. */

import { clock, graduated, tickStep } from "./view.js";

export const LEFT = 58; // [px]
const RIGHT = 12;
export const NOTES = 44; // the row of notes, a finger high
const FOOT = 26;
const GAP = 14;
const BARS = 7;

const TOKENS = ["sheet", "ink", "pencil", "hairline", "marking", "caution"];

export const colours = () => {
  const style = getComputedStyle(document.documentElement);
  return Object.fromEntries(TOKENS.map((name) => [name, style.getPropertyValue(`--${name}`).trim()]));
};

/** The place of a moment across the canvas, and back. */
export const acrossOf = (width, { from, to }) => {
  const inner = width - LEFT - RIGHT;
  return { x: (t) => LEFT + ((t - from) / (to - from)) * inner, t: (x) => from + ((x - LEFT) / inner) * (to - from) };
};

const firstAfter = (data, moment) => {
  let [low, high] = [0, data.count];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (data.at[middle] + data.from <= moment) low = middle + 1;
    else high = middle;
  }
  return low;
};

// At most one upright a column of the canvas, whatever the window holds.
const line = (context, data, which, place, y, view, width) => {
  const begin = Math.max(0, firstAfter(data, view.from) - 1);
  const end = Math.min(data.count, firstAfter(data, view.to) + 1);
  const [low, high] = [data.low[which], data.high[which]];
  context.beginPath();
  let column = NaN;
  let [least, most, last] = [0, 0, NaN];
  const put = () => {
    if (Number.isNaN(column)) return;
    if (Number.isNaN(last)) context.moveTo(column, y(most));
    else context.lineTo(column, y(Math.abs(last - most) < Math.abs(last - least) ? most : least));
    context.lineTo(column, y(most));
    context.lineTo(column, y(least));
    last = least;
  };
  for (let at = begin; at < end; at += 1) {
    const x = Math.round(Math.min(Math.max(place(data.at[at] + data.from), 0), width));
    if (x === column) {
      if (low[at] < least) least = low[at];
      if (high[at] > most) most = high[at];
    } else {
      put();
      [column, least, most] = [x, low[at], high[at]];
    }
  }
  put();
  context.stroke();
};

const frame = (context, { first, last, apart }, name, factor, box, ink) => {
  context.strokeStyle = ink.hairline;
  context.fillStyle = ink.pencil;
  context.textAlign = "right";
  context.lineWidth = 1;
  const places = [];
  for (let value = first; value <= last + 1e-9; value += apart) {
    const y = Math.round(box.bottom - ((value - first) / (last - first)) * (box.bottom - box.top)) + 0.5;
    places.push([y, value]);
    context.beginPath();
    context.moveTo(LEFT, y);
    context.lineTo(box.right, y);
    context.stroke();
  }
  for (const [y, value] of places) context.fillText(String(Math.round(value)), LEFT - 6, y + 4);
  context.textAlign = "left";
  context.fillStyle = ink.ink;
  context.fillText(name, LEFT + 6, box.top + 14);
};

const bars = (context, stretches, place, y, colour, view) => {
  context.fillStyle = colour;
  for (const [from, to] of stretches) {
    if (to < view.from || from > view.to) continue;
    const left = Math.max(place(from), LEFT);
    context.fillRect(left, y, Math.max(place(to) - left, 2), BARS - 2);
  }
};

const noteMarks = (context, notes, place, shift, box, height, ink) => {
  context.textAlign = "center";
  for (const note of notes) {
    const x = place(note.at + shift);
    if (x < LEFT || x > box.right) continue;
    context.strokeStyle = ink.marking;
    context.lineWidth = 1;
    context.beginPath();
    context.moveTo(x, NOTES - 8);
    context.lineTo(x, height - FOOT);
    context.stroke();
    context.fillStyle = ink.sheet;
    context.beginPath();
    context.arc(x, NOTES / 2, 12, 0, 2 * Math.PI);
    context.fill();
    context.stroke();
    context.fillStyle = ink.ink;
    context.fillText(note.letter, x, NOTES / 2 + 5);
  }
};

/** Draws `view` of the log. `shift` is by how much the notes are dragged. [s] */
export const draw = (canvas, { view, data, lines, notes, steady, knocks, shift }, ink) => {
  const context = canvas.getContext("2d");
  const ratio = window.devicePixelRatio || 1;
  const [width, height] = [canvas.clientWidth, canvas.clientHeight];
  if (canvas.width !== Math.round(width * ratio) || canvas.height !== Math.round(height * ratio)) {
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
  }
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  context.fillStyle = ink.sheet;
  context.fillRect(0, 0, width, height);
  context.font = `13px ${getComputedStyle(canvas).fontFamily}`;
  const place = acrossOf(width, view).x;
  const right = width - RIGHT;
  const panel = (height - NOTES - FOOT - GAP * (lines.length - 1)) / lines.length;

  const step = tickStep(view.to - view.from, Math.max(2, Math.floor((right - LEFT) / 80)));
  context.textAlign = "center";
  for (let t = Math.ceil(view.from / step) * step; t <= view.to; t += step) {
    const x = Math.round(place(t)) + 0.5;
    context.strokeStyle = ink.hairline;
    context.beginPath();
    context.moveTo(x, NOTES);
    context.lineTo(x, height - FOOT);
    context.stroke();
    context.fillStyle = ink.pencil;
    context.fillText(clock(t, step < 1), Math.min(x, right - 14), height - 8);
  }
  lines.forEach(({ name, unit, factor, span, step: finest }, which) => {
    const top = NOTES + which * (panel + GAP);
    const box = { top, bottom: top + panel, right };
    const scale = graduated(span[0] * factor, span[1] * factor, finest);
    frame(context, scale, `${name}, ${unit}`, factor, box, ink);
    if (data === null) return;
    const y = (value) => box.bottom - ((value * factor - scale.first) / (scale.last - scale.first)) * panel;
    context.save();
    context.beginPath();
    context.rect(LEFT, top - 2, right - LEFT, panel + 4);
    context.clip();
    context.strokeStyle = which === lines.length - 1 ? ink.marking : ink.ink;
    context.lineWidth = 1.25;
    line(context, data, which, place, y, view, width);
    context.restore();
  });
  bars(context, steady, place, height - FOOT - BARS, ink.pencil, view);
  bars(context, knocks, place, NOTES - BARS, ink.caution, view);
  noteMarks(context, notes, place, shift, { right }, height, ink);
};
