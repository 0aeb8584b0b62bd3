/* The drawn curve: follows the boxes at once, moved by mouse, finger and keys. */

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
    const points = curve.points();
    const groups = drawn();
    if (!curve.isCurve(points) || points.length !== groups.length) return;
    const { x, y, left, right } = paper();
    const places = points.map((point) => [x(point.rpm), y(point.degrees)]);
    groups.forEach((group, place) => {
      const [cx, cy] = places[place];
      const { rpm, degrees } = points[place];
      for (const circle of group.children) {
        circle.setAttribute("cx", cx);
        circle.setAttribute("cy", cy);
      }
      group.setAttribute("aria-valuenow", degrees);
      group.setAttribute("aria-valuetext", `${degrees}° at ${rpm} rpm`);
    });
    const line = [[left, places[0][1]], ...places, [right, places.at(-1)[1]]];
    frame.querySelector("[data-layer=wanted]")?.setAttribute("d", `M${line.join("L")}`);
  };

  const axes = (drawing) => drawing.querySelector(".chart-plot").outerHTML;

  /** Takes over a drawing from the server; one with other axes would jump in the hand, and waits until it is let go. */
  const take = (text) => {
    const fresh = new DOMParser().parseFromString(text, "text/html").querySelector("svg");
    if (drag && axes(fresh) !== axes(svg())) return;
    const focused = drawn().indexOf(document.activeElement);
    svg().replaceWith(fresh);
    redraw();
    point(atHand);
    drawn()[focused]?.focus({ preventScroll: true });
  };

  /** Marks the point at hand, here and in the table. */
  const point = (place) => {
    atHand = place;
    drawn().forEach((group, which) => {
      group.classList.toggle("is-at-hand", which === place);
      group.tabIndex = which === Math.max(place, 0) ? 0 : -1;
    });
    curve.points().forEach((each, which) => each.row.classList.toggle("is-at-hand", which === place));
  };

  const move = (place, degrees) => {
    const moved = curve.points()[place];
    if (!moved || curve.snapped(degrees) === moved.degrees) return;
    curve.write(moved, degrees);
    on.moved();
  };

  const under = (event) => {
    const { a, d, e, f } = svg().getScreenCTM();
    return [(event.clientX - e) / a, (event.clientY - f) / d];
  };
  const degreesUnder = (event) => paper().degrees(under(event)[1]);

  /** Where points lie close, their reaches lie over one another. */
  const nearest = (event) => {
    const [x, y] = under(event);
    const far = drawn().map(({ lastElementChild: ring }) => Math.hypot(ring.cx.baseVal.value - x, ring.cy.baseVal.value - y));
    return far.indexOf(Math.min(...far));
  };

  // However small the drawing stands on the glass.
  new ResizeObserver(() => frame.style.setProperty("--reach", `${REACH / svg().getScreenCTM().a}px`)).observe(frame);

  const onPoint = (event) => event.target.closest(".chart-node");

  // Else the finger scrolls the page: parts of a drawing heed no touch-action.
  frame.addEventListener("touchstart", (event) => onPoint(event) && event.preventDefault(), { passive: false });

  frame.addEventListener("pointerdown", (event) => {
    if (drag || !onPoint(event) || (event.pointerType === "mouse" && event.button !== 0)) return;
    event.preventDefault();
    const place = nearest(event);
    const gripped = curve.points()[place];
    if (!gripped) return;
    drawn()[place].focus({ preventScroll: true });
    // Held where it was gripped, it does not jump.
    drag = { place, id: event.pointerId, grip: gripped.degrees - degreesUnder(event) };
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
    const group = onPoint(event);
    if (group) point(Number(group.dataset.index));
  });

  frame.addEventListener("keydown", (event) => {
    const group = onPoint(event);
    if (!group || event.ctrlKey || event.metaKey || event.altKey) return;
    const place = Number(group.dataset.index);
    const [steps, aside] = [STEPS_OF_KEY[event.key], NEIGHBOUR_OF_KEY[event.key]];
    if (!steps && !aside) return;
    event.preventDefault();
    if (aside) return drawn()[place + aside]?.focus();
    move(place, curve.points()[place].degrees + steps * curve.step);
    on.settled();
  });

  return { take, redraw, point };
};
