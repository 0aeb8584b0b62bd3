/* The drawn curve: follows the boxes at once, dragged by mouse, finger and keys. The workshop computer draws the rest. */

const STEPS_OF_KEY = { ArrowUp: 1, ArrowDown: -1, "+": 1, "=": 1, "-": -1, PageUp: 5, PageDown: -5 };
const NEIGHBOUR_OF_KEY = { ArrowLeft: -1, ArrowRight: 1 };
const REACH = 24; // [pixels] half of what a finger needs

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

  const axes = (drawing) => drawing.querySelector(".chart-plot").outerHTML;

  /** Takes over a drawing from the workshop computer; with other axes only once no node is held, which would jump in the hand. */
  const take = (text) => {
    const fresh = new DOMParser().parseFromString(text, "text/html").querySelector("svg");
    if (drag && axes(fresh) !== axes(svg())) return;
    const focused = drawn().indexOf(document.activeElement);
    svg().replaceWith(fresh);
    redraw();
    point(atHand);
    drawn()[focused]?.focus({ preventScroll: true });
  };

  /** Marks the node that is at hand, here and in the table. */
  const point = (place) => {
    atHand = place;
    drawn().forEach((group, which) => {
      group.classList.toggle("is-at-hand", which === place);
      group.tabIndex = which === Math.max(place, 0) ? 0 : -1;
    });
    curve.nodes().forEach((node, which) => node.row.classList.toggle("is-at-hand", which === place));
  };

  const move = (place, degrees) => {
    const node = curve.nodes()[place];
    if (!node || curve.snapped(degrees) === node.degrees) return;
    curve.write(node, degrees);
    on.moved();
  };

  const under = (event) => {
    const { a, d, e, f } = svg().getScreenCTM();
    return [(event.clientX - e) / a, (event.clientY - f) / d];
  };
  const degreesUnder = (event) => paper().degrees(under(event)[1]);

  /** Which node is nearest to the finger: where nodes lie close, their reaches lie over one another. */
  const nearest = (event) => {
    const [x, y] = under(event);
    const far = drawn().map(({ lastChild: ring }) => Math.hypot(ring.cx.baseVal.value - x, ring.cy.baseVal.value - y));
    return far.indexOf(Math.min(...far));
  };

  // A finger finds a node within as many pixels of the glass, however small the drawing stands on it.
  new ResizeObserver(() => frame.style.setProperty("--reach", `${REACH / svg().getScreenCTM().a}px`)).observe(frame);

  const onNode = (event) => event.target.closest(".chart-node");

  // Else the finger scrolls the page after a few steps: parts of a drawing heed no touch-action.
  frame.addEventListener("touchstart", (event) => onNode(event) && event.preventDefault(), { passive: false });

  frame.addEventListener("pointerdown", (event) => {
    if (drag || !onNode(event) || (event.pointerType === "mouse" && event.button !== 0)) return;
    event.preventDefault();
    const place = nearest(event);
    const node = curve.nodes()[place];
    if (!node) return;
    drawn()[place].focus({ preventScroll: true });
    // Held where it was gripped: a node does not jump under the finger.
    drag = { place, id: event.pointerId, grip: node.degrees - degreesUnder(event) };
    frame.setPointerCapture(event.pointerId);
  });

  frame.addEventListener("pointermove", (event) => {
    if (event.pointerId === drag?.id) move(drag.place, degreesUnder(event) + drag.grip);
  });

  const drop = (event) => {
    if (event.pointerId !== drag?.id) return;
    drag = null;
    on.moved(); // for the drawing that was held off
    on.settled();
  };
  frame.addEventListener("pointerup", drop);
  frame.addEventListener("pointercancel", drop);

  frame.addEventListener("focusin", (event) => {
    const group = onNode(event);
    if (group) point(Number(group.dataset.index));
  });

  frame.addEventListener("keydown", (event) => {
    const group = onNode(event);
    if (!group || event.ctrlKey || event.metaKey || event.altKey) return;
    const place = Number(group.dataset.index);
    if (event.key in STEPS_OF_KEY) {
      event.preventDefault();
      move(place, curve.nodes()[place].degrees + STEPS_OF_KEY[event.key] * curve.step);
      on.settled();
    } else if (event.key in NEIGHBOUR_OF_KEY) {
      event.preventDefault();
      drawn()[place + NEIGHBOUR_OF_KEY[event.key]]?.focus();
    }
  });

  return { take, redraw, point };
};
