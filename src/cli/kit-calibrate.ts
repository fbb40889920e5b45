import { channelByName } from '../core/quantity/channels.ts';
import { Problem } from '../core/message/problem.ts';
import { usualU } from '../core/quantity/usual-u.ts';
import { certificateText, certify, keptForm } from '../run/kit-certify.ts';
import { type Bucket, type CurveKind, readBucket, readStandard, type StandardRead } from '../run/kit-gather.ts';
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
  const prompt = lazy(input);
  try {
    const all = standards.length + buckets.length;
    const isKnown = all > 0 && standards.every((s) => s.raw !== null) && buckets.every((b) => b.kitL !== null);
    const gathered = isKnown
      ? typedIn(input, channel, standards, buckets)
      : await withKit(input, place === '' ? missingPlace() : place, ({ link }, kit) =>
          gather({ link, kit, channel, seconds, prompt, say: out.say }, standards, buckets),
        );
    const who = textOption(options, 'who') ?? (await prompt.ask('Who calibrates?'));
    const work = {
      ...gathered,
      channel,
      who,
      kind: gathered.standards.length === 1 && kind === null ? ('shift' as const) : (kind ?? 'line'),
      dueAt: textOption(options, 'due') ?? null,
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
function typedIn(
  { options }: Input,
  channel: string,
  standards: readonly GivenStandard[],
  buckets: readonly GivenBucket[],
): Gathered {
  const kit = textOption(options, 'kit');
  if (kit === undefined) throw new WrongUse('Readings typed in belong to a kit: name it with --kit urn:dev:...');
  const input = textOption(options, 'input') ?? (channel.startsWith('turbidity') ? 'raw' : 'kit');
  if (input !== 'raw' && input !== 'kit') throw new WrongUse(`--input is raw or kit; got "${input}".`);
  return {
    kit,
    input,
    hello: null,
    standards: standards.map((s) => ({ ...s, raw: s.raw ?? 0 })),
    buckets: buckets.map((b) => ({ ...b, kitL: b.kitL ?? 0, kitLpm: b.kitLpm ?? 10 })),
  };
}

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
  if (text === '') return null;
  const value = Number(text.replace(',', '.'));
  if (!Number.isFinite(value)) {
    say(`"${text}" is no number.`);
    return await asked(bench, done);
  }
  const u = Number(await prompt.ask(`Its standard uncertainty, ${unit}?`, String(usualU(channel, value))));
  const what = await prompt.ask('What is it (lot, instrument)?', '');
  return { value, u, raw: null, uRaw: 0, sdRaw: 0, kitValue: null, what };
}

async function fill(bench: Bench, given: readonly GivenBucket[]): Promise<Bucket[]> {
  const { link, kit, prompt, say } = bench;
  const buckets: Bucket[] = [];
  for (let i = 0; i < Math.max(given.length, 1) || given.length === 0; i++) {
    const known = given[i];
    if (known?.kitL !== null && known !== undefined) {
      buckets.push({ ...known, kitL: known.kitL, kitLpm: known.kitLpm ?? 10 });
      continue;
    }
    const more = given.length > 0 || i === 0 || (await prompt.ask('Another bucket (y or n)?', 'n')) === 'y';
    if (!more) break;
    await prompt.ask('Put the empty bucket on the scale, set it to zero. Enter, then open the flow at once.');
    buckets.push(
      await readBucket(
        link,
        kit,
        async () => void (await prompt.ask('Filling. Shut the flow, then Enter.')),
        async () => ({
          massKg: known?.massKg ?? Number(await prompt.ask('Mass of the water, kg?')),
          uMassKg: known?.uMassKg ?? Number(await prompt.ask('Standard uncertainty of the scale, kg?', '0.02')),
          waterC: known?.waterC ?? Number(await prompt.ask('Temperature of the water, °C?', '15')),
        }),
      ),
    );
    say(`  ${buckets.at(-1)?.kitL.toFixed(3)} l by the kit`);
  }
  return buckets;
}
