/* What is typed and not stored yet: undone, redone, and kept on this device when the tab is closed. */

const FOREIGN = /^(csrf|row_version|sending)/;

export const makeSnapshots = (form, curve) => {
  const others = () =>
    [...form.elements].filter((field) => field.name && !FOREIGN.test(field.name) && !field.closest("[data-curve]"));
  return {
    take: () => ({
      curve: curve.read().filter((pair) => pair.some((text) => text.trim())),
      others: others().map(({ name, value, checked, type }) => [name, value, checked, type]),
    }),
    restore: (snapshot) => {
      curve.restore(snapshot.curve);
      const left = [...snapshot.others];
      for (const field of others()) {
        const place = left.findIndex(([name]) => name === field.name);
        if (place >= 0) [[, field.value, field.checked]] = left.splice(place, 1);
      }
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
      past.splice(++here, past.length, now);
    },
    go: (by) => {
      if (!past[here + by]) return false;
      here += by;
      snapshots.restore(past[here]);
      return true;
    },
  };
};

const CLOCK = { dateStyle: "long", timeStyle: "short" };

/** Where this tab keeps its own, which a new tab takes over. */
const takeUp = ({ kept, carried }) => {
  const isNew = !sessionStorage[kept];
  const key = (sessionStorage[kept] ||= kept + Date.now());
  const left = Object.keys(localStorage).find((one) => one.startsWith(carried) || (isNew && one.startsWith(kept)));
  if (left && !localStorage[key]) {
    localStorage[key] = localStorage[left];
    localStorage.removeItem(left);
  }
  return key;
};

/** Keeps the draft, and puts back what no sending stored, with the edition it was typed over. */
export const keepOnDevice = ({ data, form, note, snapshots, changed }) => {
  // Typed before this script was there.
  const early = JSON.stringify(snapshots.take());
  form.reset();
  const served = snapshots.take();
  const asServed = JSON.stringify(served);
  if (early !== asServed) snapshots.restore(JSON.parse(early));
  const unstored = "unstored" in data;
  const { row_version, sending } = form.elements;
  const stands = row_version.value;
  let key, kept;
  try {
    key = takeUp(data);
    kept = unstored ? null : JSON.parse(localStorage[key] ?? null);
  } catch {
    // Forbidden: the bench works on.
  }
  const forget = () => localStorage.removeItem(key);
  const write = (sent) => {
    const now = snapshots.take();
    try {
      if (JSON.stringify(now) === asServed && !unstored) forget();
      else localStorage[key] = JSON.stringify({ at: Date.now(), row_version: row_version.value, sent, typed: now });
    } catch {
      // Or full.
    }
  };

  if (kept && (kept.sent === data.stored || JSON.stringify(kept.typed) === asServed)) forget();
  else if (kept) {
    snapshots.restore(kept.typed);
    row_version.value = kept.row_version ?? stands;
    note.querySelector("[data-kept-since]").textContent = new Date(kept.at).toLocaleString("en-GB", CLOCK);
    note.querySelector("button").onclick = () => {
      snapshots.restore(served);
      row_version.value = stands;
      forget();
      note.hidden = true;
      changed();
    };
    note.hidden = false;
    changed();
  }
  if (early !== asServed && note.hidden) changed();

  form.addEventListener("submit", () => write((sending.value = key + Date.now())));
  document.querySelector("[data-take-theirs]")?.addEventListener("click", forget);
  return () => write();
};
