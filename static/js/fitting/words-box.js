/* The box of an item that is answered in words; beside figures it is saved with them. */

import { element, mark } from "./dom.js";

export class Words {
  constructor(dock, { item, row }, isInHand) {
    this.dock = dock;
    this.item = item;
    this.row = row;
    this.isInHand = isInHand;
    this.box = element("input", {
      type: "text", maxlength: "500", autocomplete: "off", enterkeyhint: "done", "aria-label": item.text, data: isInHand ? { first: "" } : {},
    }); // prettier-ignore
    this.box.addEventListener("input", () => (dock.problem.textContent = ""));
    this.boxes = [this.box];
    this.usual = element("datalist", { id: `usual-${item.key}` }, ...(item.usual ?? []).map((text) => element("option", { value: text })));
    // In hand they are a button each.
    if (!isInHand) this.box.setAttribute("list", this.usual.id);
    this.isNegative = false;
  }

  get isEmpty() {
    return !this.box.value.trim();
  }

  get isShut() {
    return this.box.disabled;
  }

  read() {
    return this.isEmpty ? null : { outcome: "done", text: this.box.value.trim() };
  }

  /* Words are not judged: a hold point of words lets the rest be typed once they are there. */
  get lets() {
    return !this.item.holdPoint || !this.isEmpty;
  }

  shut(isShut) {
    this.box.disabled = isShut;
  }

  refuse() {
    this.dock.problem.textContent = "Enter a few words.";
    this.box.focus();
  }

  parts() {
    const { item, isInHand } = this;
    const box = element("div", { class: "dock-text" }, this.box, !isInHand && this.usual);
    if (isInHand) return [box];
    const said = [
      element("p", {}, item.text),
      item.caution && element("p", { class: "line-caution" }, mark("caution"), element("span", {}, item.caution)),
    ];
    return [element("div", { class: "dock-also", data: { also: item.key } }, ...said.filter(Boolean), box)];
  }
}
