import '../shared/no-eval.ts';
import { signal } from '@preact/signals';
import { render } from 'preact';
import '../shared/theme.css';
import './trust.css';
import { type Reach, reachSchema } from '../../src/server/protocol.ts';
import { reach } from '../shared/reach.ts';
import { setTheme, theme } from '../shared/theme.ts';
import { setLanguage, storedLanguage, t } from '../shared/words/language.ts';

/** What the bridge offers; undefined until it has said so. */
const offered = signal<Reach | null | undefined>(undefined);

async function ask(): Promise<void> {
  try {
    offered.value = reachSchema.parse(await (await fetch('/api/reach', { cache: 'no-store' })).json());
  } catch {
    offered.value = null;
  }
}

function Stand() {
  return (
    <p class="stand">
      {reach === 'plain-http'
        ? t(
            'This tablet reached the bridge by plain http. Watching, pressing, sound and the waiting queue work; these do not:',
          )
        : t('This tablet may do everything here: nothing is left to be done.')}
    </p>
  );
}

function ByCertificate() {
  const bridge = offered.value;
  const address = bridge?.https ? `https://${location.hostname}:${bridge.https.port}/` : null;
  return (
    <section>
      <h2>{t('1. By https, with the certificate of this bridge')}</h2>
      {bridge === undefined && <p>{t('Looking for the bridge.')}</p>}
      {bridge === null && <p>{t('The bridge does not answer. Load this page again when it is back.')}</p>}
      {bridge?.https === null && (
        <p>
          {t('This bridge was started without https. On its machine, stop it and start it with:')}{' '}
          <code>npm start -- --https</code>
        </p>
      )}
      {bridge?.https && (
        <ol>
          <li>
            <a href="/limpid-authority.crt" download>
              {t('Fetch the certificate of its authority')}
            </a>
            . {t('Its fingerprint, the same on the console of the bridge:')}
            <code class="print">{bridge.https.fingerprint}</code>
          </li>
          <li>
            {t(
              'In the settings of the tablet, search for "certificate" and install it as a CA certificate. Some take it as a profile, and want it switched on besides, under the trusted certificates.',
            )}
          </li>
          <li>
            {t('Then open')} <a href={address ?? ''}>{address}</a> {t('and keep that on the home screen.')}
          </li>
          <li>
            {t(
              'It can speak for private addresses and local names alone, so trusting it opens nothing else. Its key never leaves the bridge.',
            )}
          </li>
        </ol>
      )}
    </section>
  );
}

function Page() {
  const port = location.port === '' ? '80' : location.port;
  return (
    <main class="trust">
      <h1>{t('What this tablet may do')}</h1>
      <Stand />
      {reach === 'plain-http' && (
        <ul>
          <li>{t('keep the screen on: set the tablet to sleep after 30 minutes instead')}</li>
          <li>{t('open while the bridge is away: leave the page open instead, it loses nothing')}</li>
          <li>{t('be installed on the home screen')}</li>
        </ul>
      )}
      <p>{t('Three ways to get them; one is enough, once per tablet.')}</p>
      <ByCertificate />
      <section>
        <h2>{t('2. By a cable')}</h2>
        <p>
          {t(
            'Where adb knows the tablet on a USB cable, the tablet reaches the bridge as its own machine. On the bridge:',
          )}
        </p>
        <p>
          <code>
            adb reverse tcp:{port} tcp:{port}
          </code>
        </p>
        <p>
          {t('Then open on the tablet')} <code>http://localhost:{port}/</code>
        </p>
      </section>
      <section>
        <h2>{t('3. By a switch of the browser')}</h2>
        <p>{t('For tablets of the firm, in a browser that has this page: open')}</p>
        <p>
          <code>chrome://flags/#unsafely-treat-insecure-origin-as-secure</code>
        </p>
        <p>
          {t('enter this address, enable it and start the browser anew:')} <code>{location.origin}</code>
        </p>
      </section>
      <p>
        <a href="/">{t('Back to the rig')}</a>
      </p>
    </main>
  );
}

async function start(): Promise<void> {
  setTheme(theme.value);
  const wanted = storedLanguage();
  if (wanted !== 'en') await setLanguage(wanted).catch(() => undefined);
  const host = document.getElementById('page');
  if (host !== null) render(<Page />, host);
  await ask();
}
void start();
