/* The sections of the sheet: one stands open, the others are a line each. Every one opens at a tap. */

import { plural } from "./dom.js";

const countWords = ({ done, total, failed }) => {
  const fails = failed ? `, ${plural(failed, "fail", "fail")}` : "";
  if (done === total) return `${done} done${fails}`;
  return `${done ? `${done} of ${total}` : `${total} to do`}${fails}`;
};

export class Sections {
  /* `write(section)` puts the lines of a section down in full before they are seen. */
  constructor(root, items, write) {
    this.items = items;
    this.write = write;
    this.places = new Map([...root.querySelectorAll("[data-section]")].map((place) => [place.dataset.section, place]));
    for (const [section, place] of this.places) {
      place.addEventListener("toggle", () => place.open && section !== this.last && this.looked(section, place));
    }
    addEventListener("beforeprint", () => [...this.places.keys()].forEach(write)); // on paper everything is read
  }

  /* Opened by hand. Where the one above was long, what was opened would have gone out of sight with it. */
  looked(section, place) {
    this.open(section);
    if (place.getBoundingClientRect().top < 0) this.scrollTo(section);
  }

  /* Whether another one, or none, was open before. */
  open(section) {
    const isOther = section !== this.last;
    this.last = section;
    this.write(section);
    for (const [name, place] of this.places) {
      if (place.open !== (name === section)) place.open = name === section;
    }
    return isOther;
  }

  scrollTo(section) {
    this.places.get(section).scrollIntoView({ block: "start" });
  }

  show(rows) {
    const counts = new Map([...this.places.keys()].map((section) => [section, { done: 0, total: 0, failed: 0 }]));
    for (const { key, section } of this.items) {
      const count = counts.get(section);
      count.total += 1;
      if (rows.get(key).done) count.done += 1;
      if (rows.get(key).mark === "stop") count.failed += 1;
    }
    for (const [section, count] of counts) {
      const place = this.places.get(section);
      const words = place.querySelector("[data-section-count]");
      if (words.textContent !== countWords(count)) words.textContent = countWords(count);
      place.classList.toggle("is-done", count.done === count.total);
    }
  }
}
