"""What does not fit the glass of a page: asked in the browser, where alone it can be measured."""

from playwright.sync_api import Page

TARGET = 48  # px: our own look.md; WCAG 2.2, 2.5.8 asks for 24 and 2.5.5 for 44

FAULTS = """(target) => {
  const faults = [];
  const say = (what, element) => {
    const text = (element.innerText || element.value || element.name || "").trim().replace(/\\s+/g, " ").slice(0, 40);
    faults.push(`${what}: <${element.localName} class="${element.getAttribute("class") || ""}"> ${text}`);
  };
  const shown = (element) => {
    if (!element.checkVisibility({ visibilityProperty: true, opacityProperty: false })) return false;
    const box = element.getBoundingClientRect();
    return box.width > 1 && box.height > 1;
  };
  const glass = document.documentElement;
  if (glass.scrollWidth > glass.clientWidth) {
    const wide = [...document.querySelectorAll("main *, header *, footer *")].find(
      (one) => shown(one) && one.getBoundingClientRect().right > glass.clientWidth + 1
        && !one.parentElement.closest(".table-frame, .navigation-list"));
    say(`wider than the glass by ${glass.scrollWidth - glass.clientWidth} px`, wide || glass);
  }

  // A link among words of a sentence is as high as its line: nobody can make it a finger's.
  const inSentence = (element) => {
    if (element.localName !== "a" || getComputedStyle(element).display !== "inline") return false;
    const line = element.closest("p, li, dd, td, th, h1, h2, h3, label, summary, span, div");
    return line.textContent.trim() !== element.textContent.trim();
  };
  const reach = (element) => {
    const labels = element.matches("[type=checkbox], [type=radio]") ? [...element.labels].filter(shown) : [];
    return [element, ...labels, ...element.querySelectorAll("img")].map((one) => one.getBoundingClientRect());
  };
  const targets = "a[href], button, input:not([type=hidden]), select, textarea, summary";
  for (const element of document.querySelectorAll(targets)) {
    if (!shown(element) || element.closest(".skip, .visually-hidden") || inSentence(element)) continue;
    if (element.tabIndex < 0) continue; // something else stands for it
    const boxes = reach(element);
    const height = Math.max(...boxes.map((box) => box.height));
    const width = Math.max(...boxes.map((box) => box.width));
    if (height < target - 0.5) say(`${Math.round(height)} px high`, element);
    else if (width < target - 0.5) say(`${Math.round(width)} px wide`, element);
  }

  // A word that stands on two lines, though nothing in it (hyphen, slash, soft break) lets it be parted.
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  const range = document.createRange();
  while (walker.nextNode()) {
    const node = walker.currentNode;
    if (!node.data.trim() || !shown(node.parentElement) || node.parentElement.closest("svg, script, template, option"))
      continue;
    for (const word of node.data.matchAll(/[^\\s\\u200b\\u00ad/–—-]+/g)) {
      range.setStart(node, word.index);
      range.setEnd(node, word.index + word[0].length);
      const boxes = [...range.getClientRects()].filter((box) => box.width > 0);
      const lines = new Set(boxes.map((box) => Math.round(box.top)));
      if (lines.size > 1) say(`'${word[0]}' is broken inside`, node.parentElement);
    }
  }
  return faults;
}"""

UNDER_THE_BAR = """() => {
  window.scrollTo(0, document.documentElement.scrollHeight);
  const bar = document.querySelector(".next-action");
  if (!bar || !bar.checkVisibility()) return [];
  const over = bar.getBoundingClientRect(), faults = [];
  for (const element of document.querySelectorAll("main *, .footer *")) {
    if (bar.contains(element) || element.contains(bar) || !element.checkVisibility()) continue;
    const says = [...element.childNodes].some((node) => node.nodeType === 3 && node.data.trim());
    if (!says && !element.matches("input, select, textarea, img")) continue;
    if (element.closest(".visually-hidden")) continue;
    const box = element.getBoundingClientRect();
    if (box.width < 2 || box.height < 2) continue;
    if (box.bottom > over.top + 1 && box.top < over.bottom - 1 && box.right > over.left && box.left < over.right)
      faults.push(`under the bar: ${element.innerText?.slice(0, 40)}`);
  }
  return faults;
}"""


def faults(page: Page) -> list[str]:
    """What is too wide, too small for a finger, broken inside a word, or at the page's end under the next action."""
    return page.evaluate(FAULTS, TARGET) + page.evaluate(UNDER_THE_BAR)


COVERED = """() => {
  const bar = document.querySelector(".next-action").getBoundingClientRect(), covered = [];
  const reached = "main :is(a[href], button, input, select, textarea)";
  for (const element of document.querySelectorAll(reached)) {
    if (element.closest(".next-action") || element.tabIndex < 0 || !element.checkVisibility()) continue;
    element.focus({ preventScroll: false });
    const box = element.getBoundingClientRect();
    if (document.activeElement === element && box.height < bar.top && box.bottom > bar.top + 1)
      covered.push(element.name || element.innerText);
  }
  return covered;
}"""


def covered_by_keyboard(page: Page) -> list[str]:
    """What lies under the next action while it has the focus."""
    return page.evaluate(COVERED)
