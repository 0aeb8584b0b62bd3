/* The passenger's page: one tap writes a note with its moment, and it is placed on the map when there is time. */

import { button, element, fill, moment, newId, state } from "../fitting/dom.js";
import { carry } from "../queue/carrying.js";
import { markUndone, undoByQueue } from "../queue/undoing.js";
import { Place } from "./place.js";
import { inWords, standingNotes } from "./standing-notes.js";

// A bump in the road taps twice: the second tap of a button within that time is none.
const SETTLING_MS = 450;

const root = document.querySelector("[data-road]");
const page = JSON.parse(document.querySelector("#road-data").textContent);
const notSent = root.querySelector("[data-not-sent]");
const felt = root.querySelector("[data-felt]");

const lineOf = (message) =>
  element(
    "li",
    { class: "entry-waiting" },
    element("span", { class: "entry-said" }, message.said),
    element("span", { class: "small muted" }, moment(message.madeAt)),
    message.state === "kept" ? state("good", "sent") : state("caution", "not sent yet"),
    element(
      "span",
      { class: "buttons" },
      place && button(message.body.fields.rpm ? "Change" : "Place", () => place.take({ id: message.id, said: message.said, known: message.body.fields }), "button-small button-quiet"),
      button("Undo", () => undo(message), "button-small button-quiet"),
    ),
  );

const show = (messages) => {
  fill(notSent, ...standingNotes(messages).map(lineOf));
  markUndone(root, messages);
};

const { enter } = carry(root, page, show);
undoByQueue(root, enter);

const undo = (message) => enter({ message: "undo", said: `undo ${message.said}`, body: { entry: message.id }, behind: [message.id] });

const place = felt && new Place(root.querySelector("[data-placing]"), page, ({ id }, fields) =>
  enter({ message: "placing", said: inWords(fields, page), body: { entry: id, fields }, behind: [id] }),
);

const begin = () => {
  root.querySelector("form[data-note]").hidden = true;
  felt.hidden = false;
  let tapped = { at: -SETTLING_MS };
  felt.addEventListener("click", (event) => {
    const pressed = event.target.closest("button");
    if (!pressed) return;
    const now = performance.now();
    if (tapped.button === pressed && now - tapped.at < SETTLING_MS) return;
    tapped = { button: pressed, at: now };
    const { kind, severity, said } = pressed.dataset;
    const fields = { kind, severity };
    const id = newId();
    enter({ id, message: "note", said, body: { fields } });
    if (kind !== "mark") place.take({ id, said, known: fields });
  });
  // In the list of the record: the page of its own is for browsers without script.
  root.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-place]");
    if (!link) return;
    event.preventDefault();
    const { kind, severity, rpm, vacuum, gear, load, words } = link.dataset;
    const known = { kind, severity, rpm, vacuum_kpa: vacuum, gear, load, words };
    place.take({ id: link.dataset.place, said: inWords(known, page), known });
  });
};

if (felt) begin();
