/* What may be done to points of a curve, as `timing` does it: tests/cases/curve.json. */

/** Value of the curve through `points`, pairs of rpm and degrees; its ends held. */
export const valueAt = (points, rpm) => {
  const above = points.findIndex(([x]) => rpm <= x);
  if (above < 1) return points.at(above)[1]; // below the first, or at(-1): above the last
  const [[x0, y0], [x1, y1]] = points.slice(above - 1, above + 1);
  return y0 + ((y1 - y0) * (rpm - x0)) / (x1 - x0);
};

/** On the nearest step of a unit that counts from `from`; the retarded one of two equally near. */
export const onStep = (degrees, step, from = 0) =>
  Number((Math.ceil((degrees + from) / step - 0.5 - 1e-7) * step - from).toFixed(4));

const onLine = (from, to, { rpm }) => valueAt([from, to].map((end) => [end.rpm, end.degrees]), rpm);

/** What becomes of one of the `picked` points among `all`; `by` is a figure, or the pairs of the curve to copy. */
export const OPERATIONS = {
  shift: ({ degrees }, { by }) => degrees + by,
  scale: ({ degrees }, { by }) => degrees * by,
  copy: ({ rpm }, { by }) => valueAt(by, rpm),
  ramp: (point, { picked }) => onLine(picked[0], picked.at(-1), point),
  // Half way to the line between the neighbours; the first and the last point stay.
  smooth: (point, { all }) => {
    const place = all.indexOf(point);
    const [before, after] = [all[place - 1], all[place + 1]];
    return before && after ? (point.degrees + onLine(before, after, point)) / 2 : point.degrees;
  },
};
