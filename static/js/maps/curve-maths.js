/* What may be done to the points of a curve, as `timing` does it: the cases of both stand in tests/cases/curve.json. */

// Two figures closer than this share of a step are the same, as in timing/unit/entries.py.
const SAME_STEP = 1e-7;

/** Value of the curve through `points`, pairs of rpm and degrees, at `rpm`; its ends held. */
export const valueAt = (points, rpm) => {
  const above = points.findIndex(([x]) => rpm <= x);
  if (above < 1) return points.at(above)[1]; // below the first, or at(-1): above the last
  const [[x0, y0], [x1, y1]] = points.slice(above - 1, above + 1);
  return y0 + ((y1 - y0) * (rpm - x0)) / (x1 - x0);
};

/** `degrees` on the nearest step of a unit that counts from `from`; on the retarded one of two equally near. */
export const onStep = (degrees, step, from = 0) =>
  Number((Math.ceil((degrees + from) / step - 0.5 - SAME_STEP) * step - from).toFixed(4));

const pair = ({ rpm, degrees }) => [rpm, degrees];

/** Half way to the line between the neighbours; the first and the last point stay. */
const smoothed = (all, point) => {
  const place = all.indexOf(point);
  const [before, after] = [all[place - 1], all[place + 1]];
  return before && after ? (point.degrees + valueAt([pair(before), pair(after)], point.rpm)) / 2 : point.degrees;
};

/**
 * The degrees of `picked` points after an operation on them. `all` are the points of the curve in order, `by` the figure
 * to do it by, or the pairs of the curve to copy.
 */
export const OPERATIONS = {
  shift: (all, picked, by) => picked.map((point) => point.degrees + by),
  scale: (all, picked, by) => picked.map((point) => point.degrees * by),
  smooth: (all, picked) => picked.map((point) => smoothed(all, point)),
  ramp: (all, picked) => picked.map((point) => valueAt([pair(picked[0]), pair(picked.at(-1))], point.rpm)),
  copy: (all, picked, by) => picked.map((point) => valueAt(by, point.rpm)),
};
