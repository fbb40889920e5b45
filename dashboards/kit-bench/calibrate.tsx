import { useState } from 'preact/hooks';
import {
  type BenchCertificate,
  type BenchView,
  type BenchWork,
  benchCertificateSchema,
} from '../../src/core/job/bench-schema.ts';
import { type BucketDone, Buckets } from './buckets.tsx';
import { Wrong } from './done-table.tsx';
import { ask } from './model.ts';
import { ResidualPlot } from './residual-plot.tsx';
import { type StandardDone, Standards } from './standards.tsx';

type Kit = BenchView['kits'][number];

const calibrated = ['turbidity', 'flow', 'pressure', 't-supply', 't-return', 'conductivity', 'turbidity-out'];

/** Calibration by steps: what, the standards one by one, the curve with its residuals, who and until when. */
export function Calibrate({ kit }: { readonly kit: Kit }) {
  const offered = kit.channels.filter((c) => calibrated.includes(c.name) && c.kitValue !== null);
  const [name, setName] = useState(offered[0]?.name ?? 'turbidity');
  const [standards, setStandards] = useState<readonly StandardDone[]>([]);
  const [buckets, setBuckets] = useState<readonly BucketDone[]>([]);
  const channel = kit.channels.find((c) => c.name === name);
  const begin = (next: string): void => {
    setName(next);
    setStandards([]);
    setBuckets([]);
  };
  if (!channel) return <p class="empty">The kit sends no channel that could be calibrated.</p>;
  const done = name === 'flow' ? buckets.length : standards.length;
  return (
    <section class="steps">
      <Step number={1} title="What is calibrated">
        <div class="row" role="radiogroup" aria-label="Channel">
          {offered.map((c) => (
            <button
              type="button"
              role="radio"
              aria-checked={c.name === name}
              class={c.name === name ? 'chosen' : ''}
              onClick={() => begin(c.name)}
              key={c.name}
            >
              {c.title}
            </button>
          ))}
        </div>
      </Step>
      <Step number={2} title={name === 'flow' ? 'Buckets on a scale' : 'Standards, one by one'}>
        {name === 'flow' ? (
          <Buckets kit={kit.kit} done={buckets} onDone={setBuckets} />
        ) : (
          <Standards kit={kit.kit} channel={channel} done={standards} onDone={setStandards} />
        )}
      </Step>
      {done > 0 && (
        <Finish
          kit={kit.kit}
          channel={name}
          standards={standards}
          buckets={buckets}
          key={`${name} ${done}`}
          onKept={() => begin(name)}
        />
      )}
    </section>
  );
}

function Step({ number, title, children }: { number: number; title: string; children: preact.ComponentChildren }) {
  return (
    <div class="step">
      <h2>
        <span class="number">{number}</span> {title}
      </h2>
      {children}
    </div>
  );
}

interface FinishProps {
  readonly kit: string;
  readonly channel: string;
  readonly standards: readonly StandardDone[];
  readonly buckets: readonly BucketDone[];
  readonly onKept: () => void;
}

/** What the bridge made of the standards, for one choice of curve. */
interface Worked {
  readonly curve: BenchWork['curve'];
  readonly fit: BenchCertificate;
  readonly isKept: boolean;
}

function inDays(days: number): string {
  return new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);
}

function Finish({ kit, channel, standards, buckets, onKept }: FinishProps) {
  const one = standards.length === 1;
  const [curve, setCurve] = useState<BenchWork['curve']>(one ? 'shift' : 'line');
  const [who, setWho] = useState('');
  const [due, setDue] = useState(inDays(channel.startsWith('turbidity') ? 90 : 365));
  const [worked, setWorked] = useState<Worked | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  // What was worked out for another curve is not what would be kept.
  const shown = worked?.curve === curve ? worked : null;
  const input = channel === 'flow' ? ('kit' as const) : (standards[0]?.input ?? 'kit');
  const run = async (path: 'fit' | 'keep'): Promise<void> => {
    setWrong(null);
    if (path === 'fit') setWorked(null);
    const work: BenchWork = {
      kit,
      channel,
      input,
      who,
      dueAt: due,
      atC: null,
      curve,
      standards: standards.map(({ input: _input, ...s }) => s),
      buckets: [...buckets],
    };
    try {
      setWorked({ curve, fit: await ask(path, work, benchCertificateSchema), isKept: path === 'keep' });
    } catch (error) {
      setWrong(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <>
      <Step number={3} title="The curve">
        <div class="row">
          {channel !== 'flow' && !one && (
            <label>
              Through them
              <select
                value={curve}
                onChange={(e) => {
                  setCurve(e.currentTarget.value === 'steps' ? 'steps' : 'line');
                  setWrong(null);
                }}
              >
                <option value="line">a straight line</option>
                <option value="steps">straight pieces</option>
              </select>
            </label>
          )}
          <button type="button" onClick={() => void run('fit')}>
            Work it out
          </button>
        </div>
        <Wrong text={wrong} />
        {shown !== null && <Fitted fit={shown.fit} curve={curve} input={input} channel={channel} />}
      </Step>
      {shown !== null && (
        <Step number={4} title="Who, and until when">
          {!shown.isKept ? (
            <form
              class="row"
              onSubmit={(event) => {
                event.preventDefault();
                void run('keep');
              }}
            >
              <label>
                Name <input value={who} required maxLength={100} onInput={(e) => setWho(e.currentTarget.value)} />
              </label>
              <label>
                Due <input type="date" value={due} required onInput={(e) => setDue(e.currentTarget.value)} />
              </label>
              <button type="submit" class="go">
                Keep the certificate
              </button>
            </form>
          ) : (
            <p class="row">
              <b>Kept as {shown.fit.id}.</b> Readings go by it from now on, and every record names it.
              <button type="button" onClick={onKept}>
                Another calibration
              </button>
            </p>
          )}
        </Step>
      )}
    </>
  );
}

const two = (value: number): string => String(Number(value.toPrecision(2)));

function detection({ limitOfDetection, blankSd, unit }: BenchCertificate): string {
  const noise = blankSd === null ? '' : ` Noise in the lowest standard: ${two(blankSd)} ${unit}.`;
  if (limitOfDetection !== null)
    return `${two(limitOfDetection)} ${unit}: 3 × the noise in the lowest standard plus one step.${noise}`;
  return `not known: it is 3 × the noise in the lowest standard plus one step, and the kit does not tell its step. Send step-turbidity in its hello, then read again.${noise}`;
}

/** How far the standards lie off the curve; where it goes through all of them whatever they are worth, that says nothing. */
function farthest({ points, unit }: BenchCertificate, curve: BenchWork['curve'], channel: string): string {
  if (channel === 'flow' && points.length === 1) return 'not known with one bucket: a second one shows the spread';
  if (channel !== 'flow' && points.length === 1) return 'not known with one standard: a second one would show it';
  if (channel !== 'flow' && points.length === 2)
    return 'not known: any two standards lie on a line. A third shows whether it is straight';
  if (curve === 'steps') return 'not known: straight pieces go through every standard';
  return `${two(Math.max(...points.map((p) => Math.abs(p.residual))))} ${unit}`;
}

/** What a bucket cannot be by the meter's own spread: told of before it is kept. Common practice, no source. */
const strangeFactor = 1.25;

/** The factor on the kit's own litres, with a word of caution where it is strange. */
function factorText({ points }: BenchCertificate): string {
  const [first] = points;
  if (first === undefined || !(first.raw > 0) || !(first.value > 0)) return '';
  const factor = first.value / first.raw;
  const said = `${Number(factor.toPrecision(4))}`;
  return factor < strangeFactor && factor > 1 / strangeFactor
    ? said
    : `${said}: far from 1. Was all of the water caught and weighed? If it was, the kit counts with the wrong pulses per litre.`;
}

interface FittedProps {
  readonly fit: BenchCertificate;
  readonly curve: BenchWork['curve'];
  readonly input: 'raw' | 'kit';
  readonly channel: string;
}

function Fitted({ fit, curve, input, channel }: FittedProps) {
  const title =
    input === 'raw'
      ? 'raw reading, V or counts'
      : channel === 'flow'
        ? "flow by the kit's own factor, l/min"
        : `the kit's own value, ${fit.unit}`;
  return (
    <div class="worked">
      <ResidualPlot certificate={fit} rawTitle={title} />
      <div>
        <dl class="facts">
          <dt>Uncertainty of the curve</dt>
          <dd>
            {two(fit.uLow)} {fit.unit} at the lowest, {two(fit.uHigh)} {fit.unit} at the highest (standard uncertainty)
          </dd>
          <dt>Largest distance of a standard from it</dt>
          <dd>{farthest(fit, curve, channel)}</dd>
          {channel === 'flow' && (
            <>
              <dt>Factor on the kit's litres</dt>
              <dd>{factorText(fit)}</dd>
            </>
          )}
          {channel.startsWith('turbidity') && (
            <>
              <dt>Limit of detection</dt>
              <dd>{detection(fit)}</dd>
            </>
          )}
        </dl>
        <details>
          <summary>In full, with every figure</summary>
          <pre>{fit.text}</pre>
        </details>
      </div>
    </div>
  );
}
