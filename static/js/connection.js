/* Says plainly when a part of the page could not be sent or was refused; htmx itself would stay silent. */

const place = document.querySelector("#connection");

const say = (id) => {
  const words = document.getElementById(id)?.content.cloneNode(true);
  if (place && words) place.replaceChildren(words);
};

document.addEventListener("htmx:sendError", () => say("no-answer"));
document.addEventListener("htmx:timeout", () => say("no-answer"));
document.addEventListener("htmx:responseError", () => say("refused"));
document.addEventListener("htmx:afterRequest", (event) => {
  if (event.detail.successful) place?.replaceChildren();
});
