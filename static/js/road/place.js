/* The boxes that place a note on the map: figures, each with a slide beside it, and one tap for gear and throttle. */

import { element, fill } from "../fitting/dom.js";
import { fieldsOf, firstProblem } from "../queue/typed-fields.js";
import { figure } from "../figures.js";

const RPM = { low: 500, high: 7000, step: 50 };
const stepFor = (most) => {
  if (most > 200) return 10;
  return most > 40 ? 1 : 0.5;
};

const slide = (box, { low, high, step }, label) => {
  const range = element("input", { type: "range", min: String(low), max: String(high), step: String(step), "aria-label": `${label}, by slide` });
  const follow = () => {
    const typed = figure(box.value);
    range.classList.toggle("is-unset", Number.isNaN(typed));
    range.value = String(Number.isNaN(typed) ? low : typed);
  };
  range.addEventListener("input", () => {
    box.value = range.value;
    range.classList.remove("is-unset");
  });
  box.addEventListener("input", follow);
  box.closest(".field").append(range);
  return follow;
};

export class Place {
  /* `save(note, fields)` is called with the note in hand, {id, said, known}, and what is known of it now. */
  constructor(form, { placing, mostVacuum }, save) {
    this.form = form;
    this.prefix = `${placing}-`;
    this.note = null;
    this.problem = form.querySelector("[data-problem]");
    this.follow = [
      slide(this.box("rpm"), RPM, "Speed"),
      slide(this.box("vacuum_kpa"), { low: 0, high: mostVacuum, step: stepFor(mostVacuum) }, "Vacuum"),
    ];
    this.save = save;
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (this.keep()) this.close();
    });
    form.querySelector("[data-later]").addEventListener("click", () => this.close());
  }

  box(name) {
    return this.form.elements[this.prefix + name];
  }

  /* Takes a note in hand; what was entered for the one before is kept first, and a figure that is none asked about. */
  take(note) {
    if (this.note && this.isTouched() && !this.keep()) return;
    this.note = note;
    this.form.reset();
    for (const name of ["kind", "severity", "rpm", "vacuum_kpa", "gear", "load", "words"]) this.box(name).value = note.known[name] ?? "";
    this.asTaken = JSON.stringify(this.fields());
    for (const follow of this.follow) follow();
    fill(this.problem);
    fill(this.form.querySelector("[data-placing-title]"), `Place: ${note.said}`);
    this.form.querySelector("details").open = note.known.kind === "mark";
    this.form.hidden = false;
    this.form.scrollIntoView({ block: "nearest" });
  }

  fields() {
    const typed = Object.entries(fieldsOf(this.form));
    return Object.fromEntries(typed.filter(([name]) => name !== `${this.prefix}id`).map(([name, value]) => [name.slice(this.prefix.length), value]));
  }

  isTouched() {
    return JSON.stringify(this.fields()) !== this.asTaken;
  }

  /* Whether nothing is left to be put right. */
  keep() {
    const boxes = [["rpm", "Speed"], ["vacuum_kpa", "Vacuum"]].map(([name, label]) => ({ name, label, value: this.box(name).value, needed: false, takesUnit: name === "vacuum_kpa" }));
    const wrong = firstProblem(boxes);
    if (wrong) {
      fill(this.problem, wrong.sentence);
      this.box(wrong.name).focus();
      return false;
    }
    const fields = this.fields();
    if (fields.kind === "pinking" && !fields.severity) {
      fill(this.problem, "Enter how strongly it pinked.");
      this.form.querySelector("details").open = true;
      return false;
    }
    if (this.isTouched()) this.save(this.note, fields);
    this.note = null;
    return true;
  }

  close() {
    this.note = null;
    this.form.hidden = true;
  }
}
