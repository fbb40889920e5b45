import { useState } from 'preact/hooks';
import { benchAnswerSchema } from '../../src/core/job/bench-schema.ts';
import { typedNumber } from '../../src/core/quantity/typed-number.ts';
import { ask } from './model.ts';

/** Commands to the kit, with the answer in words. */
export function Ask({ kit, rateHz }: { readonly kit: string; readonly rateHz: number | null }) {
  const [said, setSaid] = useState<{ text: string; ok: boolean } | null>(null);
  const [busy, setBusy] = useState(false);
  const [hz, setHz] = useState('10');
  const send = async (command: Record<string, unknown>): Promise<void> => {
    setBusy(true);
    setSaid(null);
    try {
      setSaid(await ask('command', { kit, ...command }, benchAnswerSchema));
    } catch (error) {
      setSaid({ ok: false, text: error instanceof Error ? error.message : String(error) });
    }
    setBusy(false);
  };
  const setRate = (): void => {
    const typed = typedNumber(hz);
    if (Number.isFinite(typed)) void send({ command: 'rate', hz: typed });
    else setSaid({ ok: false, text: `"${hz}" is no number.` });
  };
  return (
    <section class="ask">
      <h2>Ask the kit</h2>
      <div class="row">
        <button type="button" disabled={busy} onClick={() => void send({ command: 'hello' })}>
          What are you?
        </button>
        <button type="button" disabled={busy} onClick={() => void send({ command: 'blink' })}>
          Blink its light
        </button>
        <label>
          Packs a second {rateHz === null ? '' : `(now ${rateHz})`}
          <input inputMode="decimal" value={hz} size={4} onInput={(event) => setHz(event.currentTarget.value)} />
        </label>
        <button type="button" disabled={busy} onClick={setRate}>
          Set
        </button>
      </div>
      <p role="status" class={said?.ok === false ? 'warn' : ''}>
        {busy ? 'Asking …' : (said?.text ?? '\u00a0')}
      </p>
    </section>
  );
}
