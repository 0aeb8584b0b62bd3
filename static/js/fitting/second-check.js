/*
 * The second check of one's own entry: a colleague's PIN beside the item, and whoever is signed in stays so. A PIN can
 * only be looked at by the workshop computer, so this is the one thing of the sheet that the queue does not carry.
 */

import { button, element } from "./dom.js";
import { csrfToken } from "../queue/sending.js";

const PATIENCE_MS = 10_000;

const send = async (url, fields) => {
  const answer = await fetch(url, {
    method: "POST",
    body: new URLSearchParams(fields),
    credentials: "same-origin",
    redirect: "error",
    signal: AbortSignal.timeout(PATIENCE_MS),
    headers: { Accept: "application/json", "X-CSRFToken": csrfToken() },
  });
  return answer.ok ? "" : (await answer.json()).problem;
};

export const secondCheck = (item, entry, { colleagues = [], urls }, done) => {
  // A copy that an older release left on this tablet knows neither.
  const urlOf = (pattern = "") => pattern.replace("ITEM", item.key);
  const alone = element("a", { class: "button", href: urlOf(urls.again) }, "I am alone: read again");
  const noPin = urls.firstPin ? [element("a", { class: "button button-quiet", href: urls.firstPin }, "I have no PIN yet")] : [];
  if (!colleagues.length) {
    return element("div", { class: "dock-second" }, element("p", {}, "Second check needed."), alone, ...noPin);
  }
  const options = colleagues.map(({ id, name }) => element("option", { value: String(id) }, name));
  const person = element("select", { "aria-label": "Second check by" }, ...options);
  const pin = element("input", {
    type: "password", inputmode: "numeric", maxlength: "6", size: "6", autocomplete: "off", "aria-label": "PIN", placeholder: "PIN",
  }); // prettier-ignore
  const problem = element("p", { class: "dock-problem", role: "alert" });
  let isUnderWay = false;
  const check = async () => {
    if (isUnderWay) return;
    if (!pin.value) return void pin.focus();
    isUnderWay = true;
    problem.textContent = "";
    try {
      problem.textContent = await send(urlOf(urls.confirm), { entry: entry.id, person: person.value, pin: pin.value });
    } catch {
      problem.textContent = "No answer. A PIN needs the network.";
    }
    isUnderWay = false;
    pin.value = "";
    if (problem.textContent) pin.focus();
    else done();
  };
  pin.addEventListener("keydown", (event) => event.key === "Enter" && check());
  return element(
    "div",
    { class: "dock-second", role: "group", "aria-label": "Second check" },
    person,
    pin,
    button("Second check", check, "button-primary"),
    alone,
    ...noPin,
    problem,
  );
};
