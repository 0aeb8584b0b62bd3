/* Says plainly when a part of the page was not sent or refused; htmx stays silent. A search (q) saves nothing. */

const place = document.querySelector("#connection");

const on = (name, act) =>
  document.addEventListener(`htmx:${name}`, (event) => event.target.name !== "q" && act(event));

const say = (id) => () => {
  const words = document.getElementById(id)?.content.cloneNode(true);
  if (place && words) place.replaceChildren(words);
};

on("sendError", say("no-answer"));
on("timeout", say("no-answer"));
on("responseError", say("refused"));
on("afterRequest", (event) => event.detail.successful && place?.replaceChildren());
