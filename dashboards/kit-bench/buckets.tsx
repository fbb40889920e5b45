import { useState } from 'preact/hooks';
import { benchCountedSchema, type BenchWork } from '../../src/core/job/bench-schema.ts';
import { typedNumber } from '../../src/core/quantity/typed-number.ts';
import { DoneTable, Wrong } from './done-table.tsx';
import { ask } from './model.ts';

export type BucketDone = BenchWork['buckets'][number];

interface Props {
  readonly kit: string;
  readonly done: readonly BucketDone[];
  readonly onDone: (buckets: readonly BucketDone[]) => void;
}

/** Buckets filled through the flow meter and weighed; the kit counts its litres meanwhile. */
export function Buckets({ kit, done, onDone }: Props) {
  const [filling, setFilling] = useState(false);
  const [counted, setCounted] = useState<{ litres: number; lpm: number } | null>(null);
  const [mass, setMass] = useState('');
  const [u, setU] = useState('0.02');
  const [water, setWater] = useState('15');
  const [wrong, setWrong] = useState<string | null>(null);
  const count = async (action: 'start' | 'stop'): Promise<void> => {
    setWrong(null);
    try {
      const answer = await ask('litres', { kit, action }, benchCountedSchema);
      setFilling(action === 'start');
      setCounted(action === 'stop' ? answer : null);
    } catch (error) {
      setFilling(false);
      setWrong(error instanceof Error ? error.message : String(error));
    }
  };
  const add = (): void => {
    if (counted === null) return;
    const strange = [mass, u, water].find((text) => !Number.isFinite(typedNumber(text)));
    setWrong(strange === undefined ? null : `"${strange}" is no number.`);
    if (strange !== undefined) return;
    onDone([
      ...done,
      {
        massKg: typedNumber(mass),
        uMassKg: typedNumber(u),
        waterC: typedNumber(water),
        kitL: counted.litres,
        kitLpm: counted.lpm,
      },
    ]);
    setCounted(null);
    setMass('');
  };
  return (
    <>
      <p class="lead">
        Put an empty bucket on the scale and set it to zero. Begin, open the flow, fill ten litres or more at a steady
        rate, shut the flow, end, and weigh. Two or three buckets show the spread.
      </p>
      {counted === null ? (
        <div class="row">
          <button type="button" class="go" onClick={() => void count(filling ? 'stop' : 'start')}>
            {filling ? 'End: the flow is shut' : 'Begin a bucket'}
          </button>
          {filling && <span role="status">The kit is counting.</span>}
        </div>
      ) : (
        <form
          class="row"
          onSubmit={(event) => {
            event.preventDefault();
            add();
          }}
        >
          <span class="whole">
            The kit counted <b>{counted.litres.toFixed(3)} l</b> at {counted.lpm.toFixed(1)} l/min.
          </span>
          <label>
            Mass, kg{' '}
            <input inputMode="decimal" required size={7} value={mass} onInput={(e) => setMass(e.currentTarget.value)} />
          </label>
          <label>
            Uncertainty of the scale, kg
            <input inputMode="decimal" required size={6} value={u} onInput={(e) => setU(e.currentTarget.value)} />
          </label>
          <label>
            Water, °C{' '}
            <input
              inputMode="decimal"
              required
              size={4}
              value={water}
              onInput={(e) => setWater(e.currentTarget.value)}
            />
          </label>
          <button type="submit" class="go">
            Take this bucket
          </button>
        </form>
      )}
      <Wrong text={wrong} />
      <DoneTable
        heads={['Bucket', 'By the kit']}
        rows={done.map((b) => ({
          key: String(b.kitL),
          cells: [
            `${b.massKg} ± ${b.uMassKg} kg at ${b.waterC} °C`,
            `${b.kitL.toFixed(3)} l, ${b.kitLpm.toFixed(1)} l/min`,
          ],
        }))}
        onTakeOut={(i) => onDone(done.filter((_, k) => k !== i))}
      />
    </>
  );
}
