import { useState } from 'preact/hooks';
import { photoKeptSchema } from '../../../src/server/protocol.ts';
import { newTapId } from '../../shared/queue.ts';
import { ask, me, refusalText, tell, view } from '../model.ts';
import { t } from '../../shared/words/language.ts';

/** Longest side that is kept, px: enough to read a test strip by, and quickly sent. */
const longestPx = 1600;

/**
 * The picture as the record keeps it: JPEG of a modest size, and without what the camera wrote into the file beside it
 * (place, owner).
 */
async function shrunk(file: File): Promise<Blob> {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, longestPx / Math.max(picture.width, picture.height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(picture.width * scale));
  canvas.height = Math.max(1, Math.round(picture.height * scale));
  canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height);
  picture.close();
  return await new Promise((resolve, reject) =>
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error('no picture'))), 'image/jpeg', 0.85),
  );
}

/** What went wrong, in words; null when it was kept. */
async function sendPhoto(file: File, what: string): Promise<string | null> {
  let picture: Blob;
  try {
    picture = await shrunk(file);
  } catch {
    return t('{file} is no picture that this device can read. Take it as JPEG or PNG.', { file: file.name });
  }
  const query = new URLSearchParams({ id: newTapId(), what });
  try {
    const answer = await ask(`/api/runs/current/photos?${query}`, {
      method: 'POST',
      body: picture,
      headers: { 'content-type': 'image/jpeg' },
      signal: AbortSignal.timeout(60_000),
    });
    if (!answer.ok) return await refusalText(answer);
    photoKeptSchema.parse(await answer.json());
    return null;
  } catch {
    return t('The photo was not kept: the bridge did not answer. Choose it again when the link is back.');
  }
}

/** Photos of the record: taken with the device's camera or chosen from it. */
export function Photos({ about }: { about: string }) {
  const [what, setWhat] = useState('');
  const [busy, setBusy] = useState(false);
  const photos = view.value?.photos ?? [];
  // The bridge shows pictures to devices that it knows: what they show may be a client's home.
  const mayLook = me.value?.mayWrite === true;
  const mayWrite = me.value?.mayWrite !== false && view.value?.sealed !== true;
  const take = async (file: File) => {
    setBusy(true);
    const wrong = await sendPhoto(file, what.trim() || about);
    setBusy(false);
    if (wrong === null) setWhat('');
    else tell(wrong);
  };
  return (
    <section class="photos" aria-label={t('Photos')}>
      <h3>
        {t('Photos')} <span>{photos.length === 0 ? t('none yet') : photos.length}</span>
      </h3>
      {mayWrite && (
        <div class="fields">
          <div class="field is-text">
            <label for="photo-what">{t('What it shows')}</label>
            <input
              id="photo-what"
              maxLength={200}
              placeholder={about}
              value={what}
              onInput={(e) => setWhat(e.currentTarget.value)}
            />
          </div>
          <label class={`keep${busy ? ' is-busy' : ''}`}>
            {busy ? t('Sending') : t('Add a photo')}
            <input
              type="file"
              accept="image/*"
              capture="environment"
              class="for-readers"
              disabled={busy}
              onChange={(e) => {
                const file = e.currentTarget.files?.[0];
                e.currentTarget.value = '';
                if (file) void take(file);
              }}
            />
          </label>
        </div>
      )}
      {photos.length > 0 && me.value?.mayWrite === false && <p>{t('Pair this device to see the pictures.')}</p>}
      {photos.length > 0 && (
        <ul class="thumbs">
          {photos.map((p) => (
            <li key={p.sha256 || `${p.timeS}`}>
              {p.file !== '' && mayLook && (
                <a href={`/api/runs/current/photos/${p.file.replace('files/', '')}`} target="_blank" rel="noreferrer">
                  <img src={`/api/runs/current/photos/${p.file.replace('files/', '')}`} alt={p.what} loading="lazy" />
                </a>
              )}
              <span>{p.what}</span>
            </li>
          ))}
        </ul>
      )}
    </section>
  );
}
