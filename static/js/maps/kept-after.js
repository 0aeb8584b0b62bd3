/* On the page of a version that is no draft any more: what was typed on this device for it and never stored. */

const place = document.querySelector("[data-kept-after]");
const { keptAfter: own, carried, typed, told } = place?.dataset ?? {};

const CLOCK = { day: "numeric", month: "long" };
const MINUTES = { hour: "2-digit", minute: "2-digit" };
const at = (moment) =>
  `${moment.toLocaleTimeString("en-GB", MINUTES)} on ${moment.toLocaleDateString("en-GB", CLOCK)}`;

/** Names under which something is kept: by every tab, or by this one where the page speaks of this one alone. */
const keptHere = () => {
  try {
    const all = Object.keys(localStorage).filter((key) => key.startsWith(own));
    return told === undefined ? all : all.filter((key) => key === sessionStorage[own]);
  } catch {
    return []; // forbidden
  }
};

const formOf = ({ curve, others }) => {
  const form = new FormData();
  form.set("row_version", 0);
  for (const [rpm, degrees] of curve) {
    form.append("curve_rpm", rpm);
    form.append("curve_deg", degrees);
  }
  for (const [name, value, checked, type] of others) if (checked || !/checkbox|radio/.test(type)) form.append(name, value);
  return form;
};

/** What differs from the version as it stands, in a table; nothing if it is the same; a sentence if nobody answers. */
const askDifference = async (kept, token) => {
  const form = formOf(kept.typed);
  form.set("csrfmiddlewaretoken", token);
  try {
    const answer = await fetch(typed, { method: "POST", body: form });
    if (answer.status === 204) return "";
    if (answer.ok && !answer.redirected) return await answer.text();
  } catch {
    // No network: said below.
  }
  return "<p>The differences cannot be shown now. Reload the page when the workshop computer answers.</p>";
};

const show = async (key) => {
  const kept = JSON.parse(localStorage[key]);
  const section = place.querySelector("template").content.firstElementChild.cloneNode(true);
  const part = (name) => section.querySelector(name);
  if (told === undefined) {
    const difference = await askDifference(kept, part("[name=csrfmiddlewaretoken]").value);
    if (!difference) return localStorage.removeItem(key); // it was stored after all
    part("[data-kept-difference]").innerHTML = difference;
  }
  part("[data-kept-at]").textContent = at(new Date(kept.at));
  part("[data-kept-carry]")?.addEventListener("click", () => {
    if (key.startsWith(carried)) return; // it lies ready already
    // The next version has an row_version and sendings of its own.
    localStorage[key.replace(own, carried)] = JSON.stringify({ at: kept.at, typed: kept.typed });
    localStorage.removeItem(key);
  });
  part("[data-kept-drop]").addEventListener("click", () => {
    localStorage.removeItem(key);
    section.remove();
  });
  place.append(section);
  place.hidden = false;
};

for (const key of keptHere()) show(key);
