/* What is typed and not stored yet: undone, redone, and kept on this device when the tab is closed. */

const PREFIX = "crankmark.bench.";

export const makeSnapshots = (form, curve) => {
  const others = () =>
    [...form.elements].filter((field) => field.name && field.type !== "hidden" && !field.closest("[data-curve]"));
  const said = (field) => (/checkbox|radio/.test(field.type) ? "checked" : "value");
  return {
    take: () => ({
      curve: curve.read().filter((pair) => pair.some((text) => text.trim())),
      others: others().map((field) => field[said(field)]),
    }),
    restore: (snapshot) => {
      curve.restore(snapshot.curve);
      const fields = others();
      if (fields.length !== snapshot.others.length) return; // other boxes by now
      fields.forEach((field, place) => (field[said(field)] = snapshot.others[place]));
    },
  };
};

export const makeHistory = (snapshots) => {
  const past = [snapshots.take()];
  let here = 0;
  return {
    push: () => {
      const now = snapshots.take();
      if (JSON.stringify(now) === JSON.stringify(past[here])) return;
      past.splice(here + 1, past.length, now);
      here += 1;
    },
    go: (by) => {
      if (!past[here + by]) return false;
      here += by;
      snapshots.restore(past[here]);
      return true;
    },
  };
};

const CLOCK = new Intl.DateTimeFormat("en-GB", { weekday: "long", hour: "2-digit", minute: "2-digit" });

/**
 * Keeps the draft under `name`, and puts back what was kept there and never stored: with the edition it was typed over,
 * so that what somebody else has stored since is not lost. `mine`: this person stored the draft as it is served.
 */
export const keepOnDevice = ({ name, form, note, snapshots, served, unstored, mine, changed }) => {
  const key = PREFIX + name;
  const asServed = JSON.stringify(served);
  const box = form.elements.edition;
  const edition = Number(box.value);
  const forget = () => localStorage.removeItem(key);
  const read = () => {
    try {
      return JSON.parse(localStorage.getItem(key));
    } catch {
      return null;
    }
  };
  const write = (sent) => {
    const now = snapshots.take();
    try {
      if (JSON.stringify(now) === asServed && !unstored) forget();
      else localStorage.setItem(key, JSON.stringify({ at: Date.now(), edition: Number(box.value), sent, typed: now }));
    } catch {
      // Full or forbidden: the bench works on.
    }
  };

  const kept = read();
  const wasStored = kept?.sent && !unstored && mine && edition === kept.edition + 1;
  if (kept && (wasStored || JSON.stringify(kept.typed) === asServed)) forget();
  else if (kept && !unstored) {
    snapshots.restore(kept.typed);
    box.value = kept.edition;
    const words = document.querySelector("#kept-text").content.firstElementChild.cloneNode(true);
    words.querySelector("[data-kept-since]").textContent = CLOCK.format(kept.at);
    words.querySelector("[data-kept-drop]").addEventListener("click", () => {
      snapshots.restore(served);
      box.value = edition;
      forget();
      words.remove();
      changed();
    });
    note.append(words);
    note.hidden = false;
    changed();
  }

  form.addEventListener("submit", () => write(true));
  document.querySelector("[data-take-theirs]")?.addEventListener("click", forget);
  return () => write(false);
};
