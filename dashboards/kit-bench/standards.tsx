import { useState } from 'preact/hooks';
import { type BenchChannel, type BenchWork, benchMeasuredSchema } from '../../src/core/job/bench-schema.ts';
import { typedNumber } from '../../src/core/quantity/typed-number.ts';
import { usualU } from '../../src/core/quantity/usual-u.ts';
import { valueText } from './channels.tsx';
import { DoneTable, Wrong } from './done-table.tsx';
import { ask } from './model.ts';

export type StandardDone = BenchWork['standards'][number] & { readonly input: 'raw' | 'kit' };

const hints: Readonly<Record<string, string>> = {
  turbidity:
    'Begin with clean water (0 to 0.5 NTU), then two to four standards up to the highest load you expect. Rinse and wipe the window between them.',
  'turbidity-out':
    'Begin with clean water (0 to 0.5 NTU), then two to four standards up to the highest load you expect.',
  pressure: 'Open to the air is 0 bar. One point moves the zero; a second one, by a gauge you trust, sets the span.',
  't-supply': 'Ice and water, well stirred, is 0 °C. A second point by a thermometer you trust.',
  't-return': 'Ice and water, well stirred, is 0 °C. A second point by a thermometer you trust.',
  conductivity: 'Two standards around what you expect; the certificate holds for their temperature.',
};
interface Props {
  readonly kit: string;
  readonly channel: BenchChannel;
  readonly done: readonly StandardDone[];
  readonly onDone: (standards: readonly StandardDone[]) => void;
}

/** One standard after the other: its value, and what the kit reads of it. */
export function Standards({ kit, channel, done, onDone }: Props) {
  const [value, setValue] = useState('0');
  /** Null: nobody typed one, and the usual one follows the value. */
  const [ownU, setOwnU] = useState<string | null>(null);
  const [what, setWhat] = useState('');
  const [busy, setBusy] = useState(false);
  const [wrong, setWrong] = useState<string | null>(null);
  const seconds = 8;
  const isKnown = Number.isFinite(typedNumber(value));
  const u = ownU ?? (isKnown ? String(usualU(channel.name, typedNumber(value))) : '');
  const read = async (): Promise<void> => {
    const standard = { value: typedNumber(value), u: typedNumber(u), what };
    const strange = [value, u].find((text) => !Number.isFinite(typedNumber(text)));
    setWrong(strange === undefined ? null : `"${strange}" is no number.`);
    if (strange !== undefined) return;
    setBusy(true);
    try {
      const m = await ask('measure', { kit, channel: channel.name, seconds }, benchMeasuredSchema);
      onDone([...done, { ...standard, input: m.input, raw: m.mean, uRaw: m.u, sdRaw: m.sd, kitValue: m.kitValue }]);
      setValue('');
      setOwnU(null);
      setWhat('');
    } catch (error) {
      setWrong(error instanceof Error ? error.message : String(error));
    }
    setBusy(false);
  };
  const short = (n: number): string => String(Number(n.toPrecision(5)));
  return (
    <>
      <p class="lead">
        {hints[channel.name]} Uncertainty of a standard: half of the ± on its label; where it has none, leave what is
        filled in.
      </p>
      <form
        class="row"
        onSubmit={(event) => {
          event.preventDefault();
          void read();
        }}
      >
        <label>
          True value, {channel.unit}
          <input inputMode="decimal" required size={7} value={value} onInput={(e) => setValue(e.currentTarget.value)} />
        </label>
        <label>
          Standard uncertainty
          <input inputMode="decimal" required size={6} value={u} onInput={(e) => setOwnU(e.currentTarget.value)} />
        </label>
        <label>
          What it is
          <input value={what} size={16} maxLength={200} onInput={(e) => setWhat(e.currentTarget.value)} />
        </label>
        <button type="submit" class="go" disabled={busy}>
          {busy ? `Reading for ${seconds} s …` : 'Read it now'}
        </button>
        <span class="now">
          now {valueText(channel.name, channel.kitValue)} {channel.unit}
          {channel.raw === null ? '' : `, raw ${short(channel.raw)}`}
        </span>
      </form>
      <Wrong text={wrong} />
      <DoneTable
        heads={['Standard', 'Read as', 'Scatter']}
        rows={done.map((s) => ({
          key: String(s.raw),
          cells: [
            `${s.value} ± ${s.u} ${channel.unit} ${s.what}`,
            `${short(s.raw)} ${s.input === 'raw' ? 'raw' : channel.unit}`,
            String(Number(s.sdRaw.toPrecision(2))),
          ],
        }))}
        onTakeOut={(i) => onDone(done.filter((_, k) => k !== i))}
      />
    </>
  );
}
