/**
 * What a cable, a port and a board do to bytes on their way from kit to bridge. Faults of bytes, not of sensors: each
 * takes the lines of a kit in order and gives what arrives. Pure and seeded: the same seed gives the same trouble.
 */
export interface TimedChunk {
  readonly atS: number;
  readonly bytes: Uint8Array;
}

/** A number in 0..1, the next at each call. */
export type Random = () => number;

export type LineFault = (lines: readonly TimedChunk[], random: Random) => TimedChunk[];

/** A small generator with 32 bits of state (mulberry32, public domain): enough for faults, not for figures. */
export function seeded(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let x = Math.imul(state ^ (state >>> 15), 1 | state);
    x = (x + Math.imul(x ^ (x >>> 7), 61 | x)) ^ x;
    return ((x ^ (x >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Faults one after the other, as they would meet the bytes. */
export function through(lines: readonly TimedChunk[], faults: readonly LineFault[], seed: number): TimedChunk[] {
  const random = seeded(seed);
  return faults.reduce<readonly TimedChunk[]>((now, fault) => fault(now, random), lines).slice();
}

const each =
  (share: number, change: (line: TimedChunk, random: Random) => TimedChunk[]): LineFault =>
  (lines, random) =>
    lines.flatMap((line) => (random() < share ? change(line, random) : [line]));

const place = (line: TimedChunk, random: Random) => Math.floor(random() * line.bytes.length);

/** This share of the lines loses its tail, line end and all: it runs into the next. */
export const cut = (share: number): LineFault =>
  each(share, (line, random) => [{ ...line, bytes: line.bytes.slice(0, place(line, random)) }]);

/** This share of the lines has one bit turned over. */
export const flip = (share: number): LineFault =>
  each(share, (line, random) => {
    const bytes = line.bytes.slice();
    const at = place(line, random);
    bytes[at] = (bytes[at] ?? 0) ^ (1 << Math.floor(random() * 8));
    return [{ ...line, bytes }];
  });

/** This share of the lines comes twice. */
export const duplicate = (share: number): LineFault => each(share, (line) => [line, line]);

/** Up to this many odd bytes stand before this share of the lines. */
export const noise = (share: number, mostBytes = 40): LineFault =>
  each(share, (line, random) => {
    const length = 1 + Math.floor(random() * mostBytes);
    const bytes = Uint8Array.from({ length }, () => Math.floor(random() * 256));
    return [{ atS: line.atS, bytes }, line];
  });

/** Every line is held up by up to this long; none overtakes another. */
export const delay =
  (mostS: number): LineFault =>
  (lines, random) => {
    let lastS = Number.NEGATIVE_INFINITY;
    return lines.map((line) => {
      lastS = Math.max(lastS, line.atS + random() * mostS);
      return { ...line, atS: lastS };
    });
  };

/** The bridge opens its port while the kit is talking: the first line has lost its beginning. */
export const partialFirstLine: LineFault = (lines, random) =>
  lines.map((line, i) => (i === 0 ? { ...line, bytes: line.bytes.slice(1 + place(line, random)) } : line));

/** The kit is reset in the middle of line `at`, and `after` are the lines of its new start. */
export const restart =
  (at: number, after: readonly TimedChunk[]): LineFault =>
  (lines, random) => {
    const broken = lines[at];
    if (!broken) return [...lines];
    const remains = { ...broken, bytes: broken.bytes.slice(0, place(broken, random)) };
    return [...lines.slice(0, at), remains, ...after];
  };

/**
 * The bridge listens at `speed` times the kit's rate. Each byte is ten bits on the wire (start, eight from the lowest,
 * stop); the receiver waits for a falling edge and looks at the middle of each of its own bits.
 */
export const wrongBaud =
  (speed: number): LineFault =>
  (lines) =>
    lines.map((line) => ({ ...line, bytes: heardAt(line.bytes, speed) }));

function heardAt(bytes: Uint8Array, speed: number): Uint8Array {
  const level = (bit: number): number => {
    const byte = bytes[Math.floor(bit / 10)];
    const within = Math.floor(bit) % 10;
    if (byte === undefined || within === 9) return 1;
    return within === 0 ? 0 : (byte >> (within - 1)) & 1;
  };
  const heard: number[] = [];
  const end = bytes.length * 10;
  const step = 1 / speed;
  for (let at = 0; at < end; ) {
    if (level(at) === 1) {
      at = Math.floor(at) + 1;
      continue;
    }
    let byte = 0;
    for (let bit = 0; bit < 8; bit++) byte |= level(at + (1.5 + bit) * step) << bit;
    heard.push(byte);
    at += 9.5 * step;
  }
  return Uint8Array.from(heard);
}
