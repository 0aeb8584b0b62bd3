/* Which stretch of a log is shown, and what moving and zooming make of it. Pure figures, in seconds. */

export const SHORTEST = 1; // [s]

/** The stretch of `length` from `from`, brought back into the log. */
export const within = ({ from, to }, duration) => {
  const length = Math.min(Math.max(to - from, Math.min(SHORTEST, duration)), duration);
  const begin = Math.min(Math.max(from, 0), duration - length);
  return { from: begin, to: begin + length };
};

/** Moved by `share` of what is shown; more than 0 is later. */
export const moved = ({ from, to }, share, duration) => {
  const by = (to - from) * share;
  return within({ from: from + by, to: to + by }, duration);
};

/** Zoomed by `factor` (below 1 is closer) about the moment `about`, which stays where it is. */
export const zoomed = ({ from, to }, factor, about, duration) =>
  within({ from: about - (about - from) * factor, to: about + (to - about) * factor }, duration);

/** Two fingers that held the moments `held` are now at the shares `at` of the width: those moments stay under them. */
export const pinched = (held, at, duration) => {
  const apart = at[1] - at[0];
  if (Math.abs(apart) < 0.02 || held[0] === held[1]) return null;
  const length = (held[1] - held[0]) / apart;
  if (length <= 0) return null;
  const from = held[0] - at[0] * length;
  return within({ from, to: from + length }, duration);
};

const TICKS = [0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800];

/** A distance of graduations in seconds that gives at most `most` of them. */
export const tickStep = (length, most) => TICKS.find((step) => length / step <= most) ?? TICKS.at(-1);

/** '12:30', '1:02:03', '0:04.5': as the tables say it, with tenths where they tell places apart. */
export const clock = (seconds, tenths = false) => {
  const sign = seconds < 0 ? "−" : "";
  const whole = tenths ? Math.round(Math.abs(seconds) * 10) / 10 : Math.round(Math.abs(seconds));
  const hours = Math.floor(whole / 3600);
  const minutes = Math.floor((whole % 3600) / 60);
  const rest = (whole % 60).toFixed(tenths ? 1 : 0).padStart(tenths ? 4 : 2, "0");
  return `${sign}${hours ? `${hours}:${String(minutes).padStart(2, "0")}` : minutes}:${rest}`;
};

/** Round figures around `low` and `high`, `step` apart at the finest and few enough to be told apart. */
export const graduated = (low, high, step) => {
  let apart = step;
  while ((high - low) / apart > 5) apart *= 2;
  const first = Math.floor(low / apart) * apart;
  const last = Math.max(Math.ceil(high / apart) * apart, first + apart);
  return { first, last, apart };
};
