import { useState } from 'preact/hooks';
import { pair } from './model.ts';

/** Watching is open to all in the network; working from here needs the code on the bridge's console. */
export function Pairing() {
  const [wrong, setWrong] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const submit = async (form: HTMLFormElement) => {
    const code = new FormData(form).get('code');
    if (typeof code !== 'string' || code.trim() === '') return;
    setBusy(true);
    setWrong(await pair(code));
    setBusy(false);
  };
  return (
    <form
      class="pairing"
      onSubmit={(event) => {
        event.preventDefault();
        void submit(event.currentTarget);
      }}
    >
      <label for="code">
        {wrong ?? 'This device may watch. To work from it, type the pairing code from the console of the bridge.'}
      </label>
      <input id="code" name="code" inputMode="numeric" autocomplete="off" maxLength={12} required disabled={busy} />
      <button type="submit" class="action is-primary" disabled={busy}>
        Pair
      </button>
    </form>
  );
}
