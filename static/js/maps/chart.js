/* The drawn curve: follows the boxes at once, dragged by mouse, finger and keys. The server draws the rest. */

const STEPS_OF_KEY = { ArrowUp: 1, ArrowDown: -1, "+": 1, "=": 1, "-": -1, PageUp: 5, PageDown: -5 };
const NEIGHBOUR_OF_KEY = { ArrowLeft: -1, ArrowRight: 1 };
const DRAWN_BY_SERVER = [".chart-under", ".chart-layers", ".chart-names"];

export const makeChart = (frame, curve, on) => {
  let drag = null;
  let atHand = -1;

  const svg = () => frame.querySelector("svg");
  const drawn = () => [...frame.querySelectorAll(".chart-node")];

  const paper = () => {
    const n = { ...frame.querySelector(".chart-plot").dataset };
    for (const name in n) n[name] = Number(n[name]);
    const across = (n.right - n.left) / (n.acrossHigh - n.acrossLow);
    const up = (n.bottom - n.top) / (n.upHigh - n.upLow);
    return {
      ...n,
      x: (rpm) => n.left + (rpm - n.acrossLow) * across,
      y: (degrees) => n.bottom - (degrees - n.upLow) * up,
      degrees: (y) => Math.min(n.upHigh, Math.max(n.upLow, n.upLow + (n.bottom - y) / up)),
    };
  };

  const redraw = () => {
    const nodes = curve.nodes();
    const groups = drawn();
    if (!curve.isCurve(nodes) || nodes.length !== groups.length) return;
    const { x, y, left, right } = paper();
    const points = nodes.map((node) => [x(node.rpm), y(node.degrees)]);
    groups.forEach((group, place) => {
      for (const circle of group.children) {
        circle.setAttribute("cx", points[place][0]);
        circle.setAttribute("cy", points[place][1]);
      }
      const { rpm, degrees } = nodes[place];
      group.setAttribute("aria-valuenow", degrees);
      group.setAttribute("aria-valuetext", `${degrees}° at ${rpm} rpm`);
    });
    const held = [[left, points[0][1]], ...points, [right, points.at(-1)[1]]];
    frame.querySelector("[data-layer=wanted]")?.setAttribute("d", `M${held.map((point) => point.join(" ")).join("L")}`);
  };

  const sameAxes = (other) => frame.querySelector(".chart-plot").outerHTML === other.querySelector(".chart-plot").outerHTML;

  /** Takes over a drawing from the server. While a node is held, the node itself is left alone. */
  const take = (text) => {
    const fresh = new DOMParser().parseFromString(text, "text/html").querySelector("svg");
    if (!drag) {
      const focused = drawn().indexOf(document.activeElement);
      svg().replaceWith(fresh);
      if (focused >= 0) drawn()[focused]?.focus({ preventScroll: true });
    } else if (sameAxes(fresh)) {
      for (const name of DRAWN_BY_SERVER) svg().querySelector(name).replaceWith(fresh.querySelector(name));
      for (const old of frame.querySelectorAll(".chart-finding")) old.remove();
      svg().querySelector(".chart-names").before(...fresh.querySelectorAll(".chart-finding"));
    }
    redraw();
    point(atHand);
  };

  /** Marks the node that is at hand, here and in the table. */
  const point = (place) => {
    atHand = place;
    drawn().forEach((group, which) => group.classList.toggle("is-at-hand", which === place));
    curve.nodes().forEach((node, which) => node.row.classList.toggle("is-at-hand", which === place));
  };

  const move = (place, degrees) => {
    const node = curve.nodes()[place];
    if (!node || curve.snapped(degrees) === node.degrees) return;
    curve.write(node, degrees);
    redraw();
    on.moved();
  };

  const degreesUnder = (event) => {
    const matrix = svg().getScreenCTM();
    return paper().degrees((event.clientY - matrix.f) / matrix.d);
  };

  frame.addEventListener("pointerdown", (event) => {
    const group = event.target.closest(".chart-node");
    if (!group || (event.pointerType === "mouse" && event.button !== 0)) return;
    event.preventDefault();
    const place = Number(group.dataset.index);
    const node = curve.nodes()[place];
    if (!node) return;
    group.focus({ preventScroll: true });
    // Held where it was gripped: a node does not jump under the finger.
    drag = { place, id: event.pointerId, grip: node.degrees - degreesUnder(event), next: node.degrees, frame: 0 };
    frame.setPointerCapture(event.pointerId);
    point(place);
  });

  frame.addEventListener("pointermove", (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    drag.next = degreesUnder(event) + drag.grip;
    drag.frame ||= requestAnimationFrame(() => {
      if (!drag) return;
      drag.frame = 0;
      move(drag.place, drag.next);
    });
  });

  const drop = (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    const { place, next } = drag;
    drag = null;
    move(place, next);
    on.settled();
  };
  frame.addEventListener("pointerup", drop);
  frame.addEventListener("pointercancel", drop);

  frame.addEventListener("focusin", (event) => {
    const group = event.target.closest(".chart-node");
    if (group) point(Number(group.dataset.index));
  });

  frame.addEventListener("keydown", (event) => {
    const group = event.target.closest(".chart-node");
    if (!group || event.ctrlKey || event.metaKey || event.altKey) return;
    const place = Number(group.dataset.index);
    if (event.key in STEPS_OF_KEY) {
      event.preventDefault();
      move(place, curve.nodes()[place].degrees + STEPS_OF_KEY[event.key] * curve.step);
      on.settled();
    } else if (event.key in NEIGHBOUR_OF_KEY) {
      event.preventDefault();
      const neighbour = drawn()[place + NEIGHBOUR_OF_KEY[event.key]];
      if (!neighbour) return;
      group.tabIndex = -1;
      neighbour.tabIndex = 0;
      neighbour.focus();
    }
  });

  return { take, redraw, point };
};
