/* Readings beside the running engine: two boxes and a pad, and what was read goes through the tablet's queue. */

import { button, element, fill, moment, state } from "../fitting/dom.js";
import { numberPad } from "../fitting/number-pad.js";
import { carry } from "../queue/carrying.js";
import { fieldsOf, firstProblem } from "../queue/typed-fields.js";
import { markUndone, undoByQueue, undone } from "../queue/undoing.js";

const root = document.querySelector("[data-strobe]");
const page = JSON.parse(document.querySelector("#strobe-data").textContent);
const form = root.querySelector("form[data-reading]");
const problem = root.querySelector("[data-problem]");
const notSent = root.querySelector("[data-not-sent]");

const saidOf = (fields) => {
  const vacuum = fields.vacuum_kpa ? `, ${fields.vacuum_kpa} ${fields.vacuum_kpa_unit ?? ""}`.trimEnd() : "";
  return `${fields.measured_deg}° at ${fields.rpm} rpm${vacuum}`;
};

const lineOf = (message, isUndone) =>
  element(
    "li",
    { class: isUndone ? "entry-waiting is-undone" : "entry-waiting" },
    element("span", { class: "entry-said" }, message.said),
    element("span", { class: "small muted" }, moment(message.madeAt)),
    message.state === "kept" ? state("good", "sent") : state("caution", isUndone ? "undone, not sent yet" : "not sent yet"),
    message.state === "waiting" && !isUndone && button("Undo", () => undo(message), "button-small button-quiet"),
  );

const show = (messages) => {
  const gone = undone(messages);
  const readings = messages.filter(({ message, state: now }) => message === "reading" && (now === "waiting" || now === "kept"));
  fill(notSent, ...readings.map((message) => lineOf(message, gone.has(message.id))));
  markUndone(root, messages);
};

const { enter } = carry(root, page, show);
undoByQueue(root, enter);

const undo = (message) => enter({ message: "undo", said: `undo ${message.said}`, body: { entry: message.id }, behind: [message.id] });

const isVacuum = (box) => box.name === "vacuum_kpa";
const isNeeded = (box) => !isVacuum(box); // empty: the pipe is off

const begin = () => {
  const boxes = [...form.querySelectorAll("input[type=text]")];
  const labelOf = (box) => box.labels[0]?.textContent.trim().split("\n")[0] ?? box.name;
  let inHand = boxes[0];
  for (const box of boxes) {
    box.setAttribute("enterkeyhint", box === boxes.at(-1) ? "done" : "next");
    box.addEventListener("focus", () => {
      inHand = box;
    });
  }
  // A finger uses the pad on the page; a real keyboard types as ever.
  const byFinger = matchMedia("(pointer: coarse)").matches;
  if (byFinger) for (const box of boxes) box.inputMode = "none";
  const pad = numberPad(() => inHand, { negative: true });
  // The box in hand keeps the caret while the pad types into it.
  pad.addEventListener("pointerdown", (event) => event.preventDefault());
  root.querySelector("[data-pad]").append(pad);

  const ask = (box, sentence) => {
    fill(problem, sentence);
    box.focus();
  };

  // Enter goes on to the next box that has to be filled, and saves in the last.
  form.addEventListener("keydown", (event) => {
    const next = boxes.slice(boxes.indexOf(event.target) + 1).find((box) => isNeeded(box) && !box.value.trim());
    if (event.key !== "Enter" || !boxes.includes(event.target) || !event.target.value.trim() || !next) return;
    event.preventDefault();
    next.focus();
  });

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const wrong = firstProblem(boxes.map((box) => ({ name: box.name, value: box.value, label: labelOf(box), needed: isNeeded(box), takesUnit: isVacuum(box) })));
    if (wrong) return ask(form.elements[wrong.name], wrong.sentence);
    const fields = fieldsOf(form);
    for (const box of boxes) box.value = "";
    fill(problem);
    boxes[0].focus();
    return enter({ message: "reading", said: saidOf(fields), body: { fields } });
  });

  boxes[0].focus({ preventScroll: true });
};

if (form && !root.querySelector("#doubt")) begin();
