const odd = [
  '\0',
  '"',
  '""',
  ',',
  ';',
  '\r',
  '\n',
  '\r\n\r\n',
  '1e999',
  '-0',
  'NaN',
  '1_000',
  '٣',
  '\ufeff',
  '{',
  '[',
  '{"a":'.repeat(50),
  '__proto__',
  '=1+1',
  '../',
  '..%2f',
  '%00',
  '9'.repeat(400),
  '\u{1f4a7}',
  '\ud800',
];

/** One to four changes: a bit, a cut, a piece doubled, a piece moved, something odd put in, a number, a piece of another. */
export function mutate(input: Buffer, random: () => number, other: Buffer = input): Buffer {
  let bytes: Buffer = Buffer.from(input);
  const place = (): number => Math.floor(random() * bytes.length);
  const insert = (at: number, more: Buffer): Buffer => Buffer.concat([bytes.subarray(0, at), more, bytes.subarray(at)]);
  for (let n = 1 + Math.floor(random() * 4); n > 0; n--) {
    const [a, b] = [place(), place()].sort((x, y) => x - y) as [number, number];
    switch (Math.floor(random() * 8)) {
      case 0:
        if (bytes.length > 0) bytes[a] = (bytes[a] ?? 0) ^ (1 << Math.floor(random() * 8));
        break;
      case 1:
        bytes = bytes.subarray(0, a);
        break;
      case 2:
        bytes = Buffer.concat([bytes.subarray(0, a), bytes.subarray(b)]);
        break;
      case 3:
        bytes = insert(b, bytes.subarray(a, Math.min(b, a + 4096)));
        break;
      case 4:
        bytes = insert(a, Buffer.from(odd[Math.floor(random() * odd.length)] ?? ''));
        break;
      case 5:
        bytes = insert(a, other.subarray(Math.floor(random() * other.length)).subarray(0, 200));
        break;
      case 6:
        if (bytes.length > 0) bytes[a] = Math.floor(random() * 256);
        break;
      default:
        bytes = insert(a, Buffer.from(String((random() - 0.5) * 10 ** (random() * 40 - 20))));
    }
  }
  return bytes;
}

const oddValues: readonly unknown[] = [
  null,
  true,
  0,
  -1,
  0.5,
  1e308,
  -0,
  '',
  'a',
  [],
  {},
  [[]],
  { a: [null] },
  '2026-01-01T00:00:00Z',
  '__proto__',
  2 ** 60,
];

/** JSON with one to three values changed, taken away, doubled or put under another name; null when it is no JSON. */
export function mutateJson(input: Buffer, random: () => number): Buffer | null {
  let root: unknown;
  try {
    root = JSON.parse(input.toString());
  } catch {
    return null;
  }
  const one = <T>(of: readonly T[]): T | undefined => of[Math.floor(random() * of.length)];
  for (let n = 1 + Math.floor(random() * 3); n > 0; n--) {
    const holders: Record<string, unknown>[] = [];
    const collect = (value: unknown): void => {
      if (typeof value !== 'object' || value === null) return;
      holders.push(value as Record<string, unknown>);
      for (const inner of Object.values(value)) collect(inner);
    };
    collect(root);
    const holder = one(holders);
    const key = holder === undefined ? undefined : one(Object.keys(holder));
    if (holder === undefined || key === undefined) return Buffer.from(JSON.stringify(one(oddValues)));
    const kind = random();
    if (kind < 0.4) holder[key] = structuredClone(one(oddValues));
    else if (kind < 0.55) Reflect.deleteProperty(holder, key);
    else if (kind < 0.7) holder[`${key}${Math.floor(random() * 10)}`] = structuredClone(holder[key]);
    else if (kind < 0.85) holder[key] = structuredClone(one(Object.values(one(holders) ?? {})));
    else
      holder[key] = typeof holder[key] === 'number' ? Number(holder[key]) * 10 ** (random() * 20 - 10) : [holder[key]];
  }
  return Buffer.from(JSON.stringify(root));
}
