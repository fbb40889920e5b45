export interface Tick {
  readonly value: number;
  readonly text: string;
}

/** From a value to a height: 0 at the lower end, 1 at the upper; values outside are held at the ends. */
export interface Scale {
  readonly low: number;
  readonly high: number;
  place(value: number): number;
  readonly ticks: readonly Tick[];
}

function held(share: number): number {
  return Math.min(1, Math.max(0, share));
}

const plain = (value: number): string => String(Number(value.toPrecision(6)));

const thirds = [1, 2, 5];

/** The nearest of ..., 1, 2, 5, 10, ... at or under a value over nought. */
function roundDown(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value) + 1e-9);
  return (thirds.findLast((t) => t * power <= value * (1 + 1e-9)) ?? 1) * power;
}

/** Every 1, 2 and 5 times a power of ten from `low` to `high`; over a long span the powers alone. */
function logTicks(low: number, high: number): Tick[] {
  const all: number[] = [];
  for (let power = 10 ** Math.floor(Math.log10(low) + 1e-9); power <= high * (1 + 1e-9); power *= 10)
    for (const third of thirds) all.push(third * power);
  const inside = all.filter((v) => v >= low * (1 - 1e-9) && v <= high * (1 + 1e-9));
  const powers = inside.filter((v) => Math.abs(Math.log10(v) - Math.round(Math.log10(v))) < 1e-9);
  return (powers.length > 2 ? powers : inside).map((value) => ({ value, text: plain(value) }));
}

/** Turbidity spans three decades: even steps are equal ratios. What is under the lowest is drawn on it. */
export function logScale(values: readonly number[], least = 0.1): Scale {
  const top = values.reduce((a, b) => Math.max(a, b), 0);
  const bottom = values.reduce((a, b) => (b > 0 ? Math.min(a, b) : a), Number.POSITIVE_INFINITY);
  const low = roundDown(Math.max(least, Math.min(bottom, Math.max(top, least))));
  const wanted = Math.max(low * 10, top);
  const under = roundDown(wanted);
  const high = under >= wanted * (1 - 1e-9) ? under : roundDown(under * 2.5);
  const span = Math.log(high / low);
  return { low, high, place: (value) => held(Math.log(Math.max(value, low) / low) / span), ticks: logTicks(low, high) };
}

const steps = [1, 2, 2.5, 5, 10];

/** A round step that cuts a span into at most `most` parts. */
export function roundStep(span: number, most: number): number {
  const raw = span / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(raw));
  return (steps.find((s) => s * power >= raw * (1 - 1e-9)) ?? 10) * power;
}

/** Even scale from nought (or under it) to a round value over the largest. */
export function evenScale(values: readonly number[], most = 4): Scale {
  const low = Math.min(0, ...values);
  const high = Math.max(...values, low + 1e-6, low + 1);
  const step = roundStep(high - low, most);
  const from = Math.floor(low / step) * step;
  const to = Math.ceil(high / step - 1e-9) * step;
  const ticks = Array.from({ length: Math.round((to - from) / step) + 1 }, (_, i) => from + i * step);
  const place = (value: number): number => held((value - from) / (to - from));
  return { low: from, high: to, place, ticks: ticks.map((value) => ({ value, text: plain(value) })) };
}

const timeSteps = [10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400];

/** Moments on a round step of the run's clock, with their words: minutes, or hours and minutes over a long span. */
export function timeTicks(fromS: number, toS: number, most: number): readonly Tick[] {
  const step = timeSteps.find((s) => (toS - fromS) / s <= most) ?? 28800;
  const ticks: Tick[] = [];
  for (let t = Math.ceil(fromS / step) * step; t <= toS; t += step) {
    const minutes = Math.floor(t / 60);
    const two = (n: number): string => String(n).padStart(2, '0');
    const text =
      step < 60
        ? `${minutes}:${two(t % 60)}`
        : toS >= 5400
          ? `${Math.floor(minutes / 60)}:${two(minutes % 60)}`
          : `${minutes}`;
    ticks.push({ value: t, text });
  }
  return ticks;
}

/** Unit of the words of `timeTicks` over the same span. */
export function timeUnit(fromS: number, toS: number, most: number): string {
  const step = timeSteps.find((s) => (toS - fromS) / s <= most) ?? 28800;
  return step < 60 ? 'min:s' : toS >= 5400 ? 'h:min' : 'min';
}
