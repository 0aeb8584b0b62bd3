/*
 * The item in hand: what to do, the one large control for it, and whatever else may be said about it. After each entry
 * it goes on to the next open item by itself, so that most items cost one tap.
 */

import { asksToConfirm, decisionFor, isOwnToCheck, secondCheckFor } from "./decision.js";
import { button, element, fill, mark, state } from "./dom.js";
import { hasFigure } from "./measure.js";
import { typedControls } from "./measure-controls.js";
import { tooLarge } from "./photograph-size.js";
import { wayOnward } from "./onward.js";
import { waysToAnswer } from "./together.js";

// A gloved thumb taps twice: the second tap must not answer the item that has just come up.
const SETTLING_MS = 450;

export class Dock {
  /*
   * `actions`: enterAll(answers), photograph(item, row, file, note), confirm(item, entry), seconded(item), keep(item, others),
   * correct(item, row, entry), takeBack(items), again(item), next(keys), skip(item), showPast(item), typedWith(item), looksWith(item)
   */
  constructor(place, actions, page) {
    const { mayLetPass, person, largestPhotograph } = page;
    this.page = page;
    this.place = place;
    this.actions = actions;
    this.mayLetPass = mayLetPass;
    this.person = person;
    this.largestPhotograph = largestPhotograph;
    this.item = null;
    this.row = null;
    this.readyAt = 0;
    this.undo = null;
    this.busy = false;
    this.unitsChosen = new Map();
  }

  /* One action at a time. A thumb's second tap comes before the first entry is kept on the disk: it is none. */
  async alone(action) {
    if (this.busy) return;
    this.busy = true;
    try {
      await action();
    } finally {
      this.busy = false;
    }
  }

  /* Takes `item` in hand. What was typed for another item and not stored is not carried over. */
  take(item, row, { settle = false } = {}) {
    this.item = item;
    this.waiting = null;
    this.row = row;
    this.place.classList.remove("is-finished");
    this.problem = element("p", { class: "dock-problem", role: "alert" });
    this.note = null;
    this.facts = element("div", { class: "dock-facts" });
    this.decision = element("div", { class: "dock-decision" });
    this.controls = element("div", { class: "dock-controls" });
    this.more = element("div", { class: "dock-more" });
    this.noteArea = element("div", { class: "dock-note", hidden: true });
    this.undoPlace = element("div", {});
    this.settle(settle);
    this.place.hidden = false;
    this.looks = element("div", { class: "dock-looks", hidden: true, data: { looks: "" } });
    this.place.replaceChildren(this.undoPlace, this.head(), this.decision, this.controls, this.looks, this.problem, this.noteArea, this.more);
    this.looksShown = "";
    this.controls.append(...this.controlsFor());
    this.moreOf = null; // its places are new, even if it was in hand before
    this.anew = false;
    this.refresh(row);
    this.showUndo();
    this.controls.querySelector("[data-first]")?.focus({ preventScroll: true });
    this.place.scrollTop = 0;
  }

  settle(wanted) {
    this.readyAt = wanted ? performance.now() + SETTLING_MS : 0;
    delete this.place.dataset.ready;
    clearTimeout(this.settling);
    this.settling = setTimeout(() => (this.place.dataset.ready = ""), wanted ? SETTLING_MS : 0);
  }

  /* What stands has changed, here or elsewhere: everything is shown anew but what is being typed. */
  refresh(row) {
    this.row = row;
    const item = this.item;
    fill(
      this.facts,
      state(row.mark, row.words),
      row.value && element("span", {}, [`${row.value} ${row.unit ?? item.unit}`.trim(), row.detail].filter(Boolean).join(", ")),
      (row.limits || item.limits) && element("span", {}, `limit: ${row.limits || item.limits}`),
      row.who && element("span", {}, row.who),
      !item.required && element("span", {}, "optional"),
    );
    this.showLooks();
    const seen = JSON.stringify([row.standing, row.hold?.key, row.waitsForSecond, row.open, row.conflict, row.found, row.record, row.unsent]);
    if (seen === this.seen && this.moreOf === item) return;
    this.seen = seen;
    this.moreOf = item;
    this.decision.replaceChildren(...decisionFor(this));
    this.more.replaceChildren(...this.moreFor());
  }

  /* The plain looks of this section, while more than one is to do: what another tablet has answered leaves the list. */
  showLooks() {
    const looks = this.actions.looksWith(this.item);
    const shown = looks.map(({ item }) => item.key).join(" ");
    if (shown === this.looksShown) return;
    this.looksShown = shown;
    this.looks.hidden = !looks.length;
    fill(this.looks, ...(looks.length ? waysToAnswer(looks, (answers) => this.ready() && this.enterAll(answers)) : []));
  }

  /* What the inspection answered is not confirmed: the item is answered anew. */
  beginAnew() {
    this.anew = true;
    this.moreOf = null;
    this.refresh(this.row);
    (this.controls.querySelector("[data-first]") ?? this.controls.querySelector("input, button"))?.focus();
  }

  head() {
    const { item } = this;
    return element(
      "div",
      { class: "dock-head" },
      item.holdPoint && element("p", { class: "hold-flag" }, mark("hold"), " Stop here until this passes"),
      element("p", { class: "dock-section" }, `${item.section} · no. ${item.number}`),
      element("h2", {}, item.text),
      this.facts,
      item.caution && element("p", { class: "line-caution" }, mark("caution"), element("span", {}, item.caution)),
      (item.help || item.picture) &&
        element(
          "details",
          { class: "dock-help" },
          element("summary", {}, "Help"),
          ...item.help.split("\n").map((line) => element("p", {}, line)),
          item.picture && element("img", { class: "item-picture", src: item.picture.url, alt: item.picture.words }),
        ),
    );
  }

  controlsFor() {
    switch (this.item.kind) {
      case "tick":
        return [this.primary("Tick: done", () => this.enter({ outcome: "done" }))];
      case "measure":
        return typedControls(this, this.actions.typedWith(this.item));
      case "choice":
        return this.choiceControls();
      case "photo":
        return [this.photographButton("Take photograph", "button-primary dock-primary")];
      case "reading":
        return []; // the record answers it: see decision.js
      default:
        return this.textControls();
    }
  }

  primary(words, action) {
    const made = button(words, () => this.ready() && action(), "button-primary dock-primary");
    made.dataset.first = "";
    return made;
  }

  /* Whether something is typed here that was not saved yet. A key of the pad, and not the field, has the focus then. */
  holdsTyping() {
    return [...this.place.querySelectorAll("input:not([type=file]), textarea")].some(({ value }) => value);
  }

  ready() {
    return performance.now() >= this.readyAt;
  }

  choiceControls() {
    const choose = (choice) => this.ready() && this.enter({ outcome: "done", choice });
    const buttons = this.item.choices.map((choice) => button(choice, () => choose(choice)));
    if (buttons.length) buttons[0].dataset.first = "";
    return [element("div", { class: "dock-choices", role: "group", "aria-label": this.item.text }, ...buttons)];
  }

  /* Usual answers are a tap each; any other is typed. */
  textControls() {
    const usual = (this.item.usual ?? []).map((text) => button(text, () => this.ready() && this.enter({ outcome: "done", text })));
    const group = usual.length ? [element("div", { class: "dock-choices", role: "group", "aria-label": "Usual" }, ...usual)] : [];
    return [...group, ...typedControls(this, this.actions.typedWith(this.item))];
  }

  photographButton(words, kind) {
    const file = element("input", { type: "file", accept: "image/*", capture: "environment", tabindex: "-1", "aria-label": `${words}: ${this.item.text}` });
    file.addEventListener("change", async () => {
      await this.photograph(file.files[0]);
      file.value = ""; // a camera calls every photograph the same: the next one is a change again
    });
    return element("span", { class: kind.includes("dock-primary") ? "dock-photo dock-photo-large" : "dock-photo" }, button(words, () => file.click(), kind), file);
  }

  photograph(file) {
    return this.alone(() => this.keepPhotograph(file));
  }

  async keepPhotograph(file) {
    if (!file) return;
    this.problem.textContent = tooLarge(file, this.largestPhotograph);
    if (this.problem.textContent) return;
    // A copy: what a camera hands over may be gone before it can be sent.
    const copy = new Blob([await file.arrayBuffer()], { type: file.type });
    await this.actions.photograph(this.item, this.row, copy, this.noteText());
    if (this.item.kind === "photo") this.goOn();
  }

  moreFor() {
    const { item, row } = this;
    const more = [];
    this.controls.hidden = Boolean(row.hold) || Boolean(row.record?.differs) || asksToConfirm(this);
    if (row.hold) {
      more.push(element("p", { class: "muted" }, mark("hold"), ` Waiting for the hold point ‘${row.hold.text}’.`));
    }
    if (row.conflict) {
      for (const kept of row.standing) more.push(button(`Keep ${(kept.value && `${kept.value} ${kept.unit}`.trim()) || kept.words} (${kept.who})`, () => this.keep(kept)));
    }
    const current = row.standing.at(-1);
    if (row.waitsForSecond && current && current.byId !== this.person.id) {
      more.push(button(`Second check: ${[row.value, row.value && row.unit].join(" ").trim() || row.words}`, () => this.alone(() => this.actions.confirm(item, current)), "button-primary"));
    }
    if (item.kind !== "photo" || !row.open) more.push(this.photographButton("Add photograph", ""));
    more.push(button("Note", () => this.openNote()));
    if (!row.hold) more.push(button("Not possible", () => this.openNote("not possible")));
    if (item.holdPoint && this.mayLetPass && !row.holds) more.push(button("Override", () => this.openNote("let pass"), "button-danger"));
    if (row.standing.length && !row.record?.differs && !row.found?.done) more.push(button("Undo", () => this.enter({ outcome: "withdrawn", note: "" })));
    if (row.history.length) more.push(button("History", () => this.actions.showPast(item)));
    more.push(button("Skip", () => this.actions.skip(item)));
    return more;
  }

  openNote(outcome = "noted") {
    const area = element("textarea", { maxlength: "500", "aria-label": outcome === "noted" ? "Note" : "Reason", placeholder: "Type or dictate" });
    // What was typed under another heading is kept: the reason may be the note.
    const typed = this.note?.isConnected ? this.note.value : "";
    area.value = typed || (outcome === "noted" ? this.row.note : "");
    const store = () => {
      if (!area.value.trim()) {
        this.problem.textContent = outcome === "noted" ? "Enter the note first." : "Enter the reason first.";
        return;
      }
      this.enter(this.withNote(outcome, area.value.trim()));
    };
    const words = { noted: "Save note", "not possible": "Save reason", "let pass": "Override" };
    this.note = area;
    this.noteOutcome = outcome;
    this.noteArea.hidden = false;
    this.noteArea.replaceChildren(area, button(words[outcome], store));
    area.focus();
    this.noteArea.scrollIntoView({ block: "nearest" });
  }

  /* A note beside what stands repeats what stands; a note of its own leaves the item open. */
  withNote(outcome, note) {
    const current = this.row.standing.at(-1);
    if (outcome !== "noted" || this.row.open || !current) return { outcome, note };
    const { measure, unit, beside, choice, text } = current;
    const figure = hasFigure(current) ? { measure, unit, beside } : {};
    return { outcome: current.outcome, ...figure, choice, text, note };
  }

  noteText() {
    return this.note && this.noteOutcome === "noted" ? this.note.value.trim() : this.row.note;
  }

  enter(body) {
    return this.enterAll([{ item: this.item, row: this.row, body }]);
  }

  /* Each of `answers` is an entry of its own; the note that is being written belongs to the item in hand. */
  enterAll(answers) {
    const isUndoing = answers.some(({ body }) => body.outcome === "withdrawn");
    return this.alone(async () => {
      await this.actions.enterAll(answers.map(({ item, row, body }) => ({ item, row, body: { note: item === this.item ? this.noteText() : row.note, ...body } })));
      const items = answers.map(({ item }) => item);
      this.undo = isUndoing ? null : { items };
      if (isUndoing) this.actions.again(items[0]);
      else this.actions.next(items.map(({ key }) => key));
    });
  }

  keep(kept) {
    const others = this.row.standing.filter((entry) => entry.id !== kept.id).map((entry) => entry.id);
    return this.alone(() => this.actions.keep(this.item, others));
  }

  goOn() {
    this.actions.next([this.item.key]);
  }

  /* The second check that everything else waits for, once its entry is with the workshop computer. */
  offerSecondCheck(row) {
    const entry = isOwnToCheck({ row, person: this.person }) ? row.standing.at(-1).id : null;
    if (entry === this.waitingFor) return;
    this.waitingFor = entry;
    fill(this.waitingPlace, ...(entry ? [element("p", {}, this.waiting.text), secondCheckFor(this, this.waiting, row)] : []));
  }

  showUndo() {
    const undone = this.undo?.items ?? [];
    if (!undone.length || undone[0] === this.item) return this.undoPlace.replaceChildren();
    const back = button("Undo", () => {
      this.undo = null;
      return this.alone(() => this.actions.takeBack(undone));
    });
    const what = undone.length > 1 ? `${undone.length} items` : undone[0].text;
    return this.undoPlace.replaceChildren(element("div", { class: "dock-undo" }, element("span", {}, `Saved: ${what}`), back));
  }

  /* The next action of the job, in place of the way that only shows the page anew. */
  offerOnward(onward) {
    const only = this.place.querySelector("[data-only-anew]");
    if (only && onward) only.replaceWith(wayOnward(onward, () => this.ready()));
  }

  /* Nothing is open for this person any more. Without `address` the page's own next action says how to go on. */
  finish(words, address, { done = false, waiting = null } = {}) {
    this.item = null;
    this.waiting = waiting;
    this.place.classList.toggle("is-finished", done && !address);
    this.undoPlace = element("div", {});
    this.waitingPlace = element("div", {});
    this.waitingFor = null;
    this.settle(done); // the last tick's second tap must not take the car to its next stage
    this.place.hidden = false;
    fill(
      this.place,
      this.undoPlace,
      element("p", {}, element("strong", {}, words)),
      address && element("a", { class: "button button-primary dock-primary", href: address, data: { onlyAnew: "" } }, "Next"),
      this.waitingPlace,
    );
    this.showUndo();
  }
}
