/* On a phone the rooms do not stand side by side all at once: the one that is open is brought into sight. */

const open = document.querySelector(".navigation [aria-current]");
const list = open?.closest("ul");
if (list) list.scrollLeft = open.offsetLeft - list.offsetLeft - (list.clientWidth - open.offsetWidth) / 2;
