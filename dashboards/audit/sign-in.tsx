import { useState } from 'preact/hooks';
import { typed } from './form.ts';
import { me, pairHere, signIn } from './model.ts';

/** For whoever is not known yet: by name and password, or by the pairing code. */
export function SignIn() {
  const [wrong, setWrong] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const attempt = (work: Promise<string | null>): void => {
    setBusy(true);
    void work.then((answer) => {
      setWrong(answer);
      setBusy(false);
    });
  };
  return (
    <main class="sign-in">
      <h2>Who is looking?</h2>
      {wrong !== null && (
        <p class="strip-bad" role="alert">
          {wrong}
        </p>
      )}
      {me.value?.hasPeople && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            const form = event.currentTarget;
            attempt(signIn(typed(form, 'name'), typed(form, 'password')));
          }}
        >
          <label>
            Name
            <input name="name" autocomplete="username" required maxLength={100} />
          </label>
          <label>
            Password
            <input name="password" type="password" autocomplete="current-password" required maxLength={200} />
          </label>
          <button type="submit" class="go" disabled={busy}>
            Sign in
          </button>
        </form>
      )}
      <form
        onSubmit={(event) => {
          event.preventDefault();
          attempt(pairHere(typed(event.currentTarget, 'code')));
        }}
      >
        <label>
          {me.value?.hasPeople ? 'Or pair this device: the' : 'The'} code on the console of the bridge
          <input name="code" inputMode="numeric" autocomplete="off" required maxLength={12} />
        </label>
        <button type="submit" disabled={busy}>
          Pair
        </button>
      </form>
    </main>
  );
}
