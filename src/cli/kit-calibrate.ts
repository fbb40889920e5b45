import { channelByName } from '../core/quantity/channels.ts';
import { Problem } from '../core/message/problem.ts';
import { typedNumber } from '../core/quantity/typed-number.ts';
import { usualU } from '../core/quantity/usual-u.ts';
import { certificateText, certify, dueMs, keptForm } from '../run/kit-certify.ts';
import {
  type Bucket,
  bucketFault,
  type CurveKind,
  kitFault,
  massFault,
  readBucket,
  readStandard,
  scaleFault,
  type StandardRead,
  uFault,
  valueFault,
  waterFault,
} from '../run/kit-gather.ts';
import type { KitLink } from '../run/kit-link.ts';
import { type Input, numberOption, textOption, WrongUse } from './command.ts';
import { withKit } from './kit-actions.ts';
import {
  calibratedChannel,
  type GivenBucket,
  type GivenStandard,
  parseBucket,
  parseStandard,
} from './kit-standards.ts';
import { type Prompt, terminalPrompt } from './prompt.ts';
import { withStore } from './with-store.ts';

interface Gathered {
  readonly kit: string;
  readonly input: 'raw' | 'kit';
  readonly hello: Parameters<typeof certify>[1]['hello'];
  readonly standards: readonly StandardRead[];
  readonly buckets: readonly Bucket[];
}

/** Calibrates one channel: by flags alone, or by questions for what the flags leave open. Writes a certificate. */
export async function calibrate(input: Input, name: string, place: string, seconds: number): Promise<number> {
  const channel = calibratedChannel(name);
  const { options, out } = input;
  const texts = (key: string): string[] => (Array.isArray(options[key]) ? options[key].map(String) : []);
  const standards = texts('standard').map((text) => parseStandard(channel, text));
  const buckets = texts('bucket').map(parseBucket);
  if (buckets.length > 0 && channel !== 'flow') throw new WrongUse('--bucket is for flow.');
  if (standards.length > 0 && channel === 'flow') throw new WrongUse('Flow is calibrated by --bucket.');
  const kind = kindOf(textOption(options, 'curve'), standards.length);
  const dueAt = textOption(options, 'due') ?? null;
  // Before anything is measured: a slip in what was given would lose it.
  if (dueAt !== null) dueMs(dueAt);
  const kitName = textOption(options, 'kit');
  if (kitName !== undefined) refuse(kitFault(kitName));
  for (const { value, u } of standards) refuse(valueFault(channel, value) ?? uFault(channel, value, u));
  for (const bucket of buckets) refuse(bucketFault(bucket));
  const prompt = lazy(input);
  try {
    const all = standards.length + buckets.length;
    const isKnown = all > 0 && standards.every((s) => s.raw !== null) && buckets.every((b) => b.kitL !== null);
    const gathered = isKnown
      ? await typedIn(input, channel, standards, buckets, prompt)
      : await withKit(input, place === '' ? missingPlace() : place, ({ link }, kit) =>
          gather({ link, kit, channel, seconds, prompt, say: out.say }, standards, buckets),
        );
    const who = textOption(options, 'who') ?? (await prompt.ask('Who calibrates?'));
    const work = {
      ...gathered,
      channel,
      who,
      kind: gathered.standards.length === 1 && kind === null ? ('shift' as const) : (kind ?? 'line'),
      dueAt,
      nowMs: Date.now(),
      atC: numberOption(options, 'at') ?? null,
    };
    return await withStore(
      options,
      (store) => {
        const certificate = certify(store, work);
        store.addCertificate(keptForm(certificate));
        out.result(certificate, `${certificateText(certificate)}\n\nKept. It holds for every run from now on.`);
        return 0;
      },
      true,
    );
  } finally {
    prompt.close();
  }
}

function refuse(why: string | null): void {
  if (why !== null) throw new Problem('kit-calibration', { why });
}

function missingPlace(): never {
  throw new WrongUse('On which port? limpid kit list shows them.');
}

function kindOf(text: string | undefined, standards: number): CurveKind | null {
  if (text === undefined) return standards > 1 ? 'line' : null;
  if (text === 'line' || text === 'steps' || text === 'shift') return text;
  throw new WrongUse(`--curve is line, steps or shift; got "${text}".`);
}

/** Asks only when there is somebody to answer. */
function lazy({ out }: Input): Prompt {
  let open: Prompt | null = null;
  return {
    ask(question, usual) {
      if (!process.stdin.isTTY && usual === undefined)
        throw new WrongUse(`"${question}" cannot be asked here. Give it by a flag: limpid kit --help.`);
      if (!process.stdin.isTTY) return Promise.resolve(usual ?? '');
      if (out.isJson) out.say('(the result comes as JSON at the end)');
      open ??= terminalPrompt();
      return open.ask(question, usual);
    },
    close: () => open?.close(),
  };
}

/** Readings that were typed in: no kit is needed, only its name. */
async function typedIn(
  { options, out }: Input,
  channel: string,
  standards: readonly GivenStandard[],
  given: readonly GivenBucket[],
  prompt: Prompt,
): Promise<Gathered> {
  const kit = textOption(options, 'kit');
  if (kit === undefined) throw new WrongUse('Readings typed in belong to a kit: name it with --kit urn:dev:...');
  const input = textOption(options, 'input') ?? (channel.startsWith('turbidity') ? 'raw' : 'kit');
  if (input !== 'raw' && input !== 'kit') throw new WrongUse(`--input is raw or kit; got "${input}".`);
  const buckets: Bucket[] = [];
  for (const bucket of given) buckets.push(await weighed({ prompt, say: out.say }, bucket));
  return { kit, input, hello: null, standards: standards.map((s) => ({ ...s, raw: s.raw ?? 0 })), buckets };
}

/** A bucket whose litres were given: the flow at which it was filled is asked, since none is as good as another. */
async function weighed(asker: Asker, bucket: GivenBucket): Promise<Bucket> {
  const lpm = `Mean flow by the kit while ${bucket.massKg} kg ran in, l/min (lpm=..)?`;
  const kitLpm = bucket.kitLpm ?? (await askNumber(asker, lpm, undefined, aboveZero));
  return { ...bucket, kitL: bucket.kitL ?? 0, kitLpm };
}

type Asker = Pick<Bench, 'prompt' | 'say'>;

/** Asks until it is a figure, and one that can be: what is wrong is told at once. */
async function askNumber(
  { prompt, say }: Asker,
  question: string,
  usual: string | undefined,
  fault: (value: number) => string | null,
): Promise<number> {
  for (;;) {
    const text = await prompt.ask(question, usual);
    const why = wrong(text, fault);
    if (why === null) return typedNumber(text);
    say(why);
  }
}

function wrong(text: string, fault: (value: number) => string | null): string | null {
  const value = typedNumber(text);
  return Number.isFinite(value) ? fault(value) : `"${text}" is no number.`;
}

const aboveZero = (value: number): string | null => (value > 0 ? null : `It must be above zero; got ${value}.`);

export interface Bench {
  readonly link: KitLink;
  readonly kit: string;
  readonly channel: string;
  readonly seconds: number;
  readonly prompt: Prompt;
  readonly say: (line: string) => void;
}

/** Measures what was given without a reading, and asks for standards when none were given. */
export async function gather(
  bench: Bench,
  given: readonly GivenStandard[],
  givenBuckets: readonly GivenBucket[],
): Promise<Gathered> {
  const { link, kit, channel } = bench;
  if (link.watch.kits.get(kit)?.hello === null) await link.ask(kit, { kind: 'hello' });
  const hello = link.watch.kits.get(kit)?.hello ?? null;
  if (channel === 'flow') return { kit, input: 'kit', hello, standards: [], buckets: await fill(bench, givenBuckets) };
  const read: (StandardRead & { input: 'raw' | 'kit' })[] = [];
  if (given.length > 0) {
    for (const [i, standard] of given.entries()) {
      if (given.length > 1)
        await bench.prompt.ask(`Put on standard ${i + 1}: ${standard.value}. Enter when it stands.`);
      read.push(await measured(bench, standard));
    }
  } else {
    for (;;) {
      const standard = await asked(bench, read.length);
      if (!standard) break;
      try {
        read.push(await measured(bench, standard));
      } catch (error) {
        // A standard that moved or was silent is measured again; the others stay.
        if (!(error instanceof Problem)) throw error;
        bench.say(error.message);
      }
    }
  }
  return { kit, input: read[0]?.input ?? 'kit', hello, standards: read, buckets: [] };
}

async function measured(bench: Bench, s: GivenStandard): Promise<StandardRead & { input: 'raw' | 'kit' }> {
  const { link, kit, channel, seconds, say } = bench;
  say(`Measuring for ${seconds} s ...`);
  const read = await readStandard(link, kit, channel, s, seconds);
  const form = (value: number): string => String(Number(value.toPrecision(5)));
  say(
    `  read ${form(read.raw)} (scatter ${form(read.sdRaw)}), the kit says ${read.kitValue === null ? '-' : form(read.kitValue)}`,
  );
  return read;
}

const hints: Readonly<Record<string, string>> = {
  turbidity: 'Begin with clean water (0 to 0.5 NTU), then two to four standards up to the highest load expected.',
  pressure: 'Begin with the sensor open to the air: 0 bar. A second point needs a gauge you trust.',
  't-supply': 'Ice water, well stirred, is 0 °C; a second point by a thermometer you trust.',
  't-return': 'Ice water, well stirred, is 0 °C; a second point by a thermometer you trust.',
};

async function asked(bench: Bench, done: number): Promise<GivenStandard | null> {
  const { channel, prompt, say } = bench;
  const unit = channelByName(channel)?.unit ?? '';
  if (done === 0 && hints[channel]) say(hints[channel]);
  const text = await prompt.ask(
    done === 0
      ? `Value of the first standard, ${unit}?`
      : `Value of the next standard, ${unit}? (Enter alone: that was all)`,
    done === 0 ? undefined : '',
  );
  if (text === '' && done > 0) return null;
  const why = wrong(text, (v) => valueFault(channel, v));
  if (why !== null) {
    say(why);
    return await asked(bench, done);
  }
  const value = typedNumber(text);
  const usual = String(usualU(channel, value));
  const u = await askNumber(bench, `Its standard uncertainty, ${unit}?`, usual, (v) => uFault(channel, value, v));
  const what = await prompt.ask('What is it (lot, instrument)?', '');
  return { value, u, raw: null, uRaw: 0, sdRaw: null, kitValue: null, what };
}

async function fill(bench: Bench, given: readonly GivenBucket[]): Promise<Bucket[]> {
  const { prompt, say } = bench;
  const buckets: Bucket[] = [];
  for (const known of given)
    buckets.push(known.kitL === null ? await filled(bench, known) : await weighed(bench, known));
  if (given.length > 0) return buckets;
  do {
    try {
      buckets.push(await filled(bench, null));
    } catch (error) {
      // A bucket that the kit did not see is filled again; the others stay.
      if (!(error instanceof Problem)) throw error;
      say(error.message);
    }
  } while (buckets.length === 0 || /^y(es)?$/i.test(await prompt.ask('Another bucket (y or n)?', 'n')));
  return buckets;
}

async function filled(bench: Bench, known: GivenBucket | null): Promise<Bucket> {
  const { link, kit, prompt, say } = bench;
  await prompt.ask('Put the empty bucket on the scale, set it to zero. Enter, then open the flow at once.');
  const filling = async (): Promise<void> => void (await prompt.ask('Filling. Shut the flow, then Enter.'));
  const bucket = await readBucket(link, kit, filling, async () => {
    if (known) return known;
    const massKg = await askNumber(bench, 'Mass of the water, kg?', undefined, massFault);
    const scale = (u: number): string | null => scaleFault(massKg, u);
    const uMassKg = await askNumber(bench, 'Standard uncertainty of the scale, kg?', '0.02', scale);
    return { massKg, uMassKg, waterC: await askNumber(bench, 'Temperature of the water, °C?', '15', waterFault) };
  });
  say(`  ${bucket.kitL.toFixed(3)} l by the kit`);
  return bucket;
}
