/* The way on from a complete sheet, as the workshop computer names it: to a page, or past the gate of the stage. */

import { element } from "./dom.js";
import { csrfToken } from "../queue/sending.js";

const LARGE = "button button-primary dock-primary";

export const wayOnward = ({ label, url, method }, isReady) => {
  const unlessReady = (event) => isReady() || event.preventDefault();
  if (method !== "post") return element("a", { class: LARGE, href: url, onclick: unlessReady }, label);
  const token = element("input", { type: "hidden", name: "csrfmiddlewaretoken", value: csrfToken() });
  return element("form", { method: "post", action: url, onsubmit: unlessReady }, token, element("button", { class: LARGE, type: "submit" }, label));
};
