import { useEffect, useState } from 'preact/hooks';
import { type RecordState, recordStateSchema } from '../../../src/server/protocol.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { ask, me, refusalText, tell, view } from '../model.ts';
import { t, told } from '../../shared/words/language.ts';

/** A text: why there is none to be seen; null: this device may not see it, or the link is down. */
async function load(): Promise<RecordState | string | null> {
  try {
    const answer = await ask('/api/runs/current/record');
    if (answer.ok) return recordStateSchema.parse(await answer.json());
    return answer.status === 401 ? null : await refusalText(answer);
  } catch {
    return null;
  }
}

/** True when the bridge did it; else what it said is told. */
async function send(path: string, body: object): Promise<boolean> {
  try {
    const answer = await ask(path, { method: 'POST', body: JSON.stringify(body) });
    if (!answer.ok) tell(await refusalText(answer));
    return answer.ok;
  } catch {
    tell(t('The bridge did not answer. Try again when the link is back.'));
    return false;
  }
}

function Check({ check }: { check: NonNullable<RecordState['check']> }) {
  if (check.sound)
    return (
      <p class="record-check" role="status">
        <b>{t('Checked: intact.')}</b>{' '}
        {t('{entries} entries and {rows} readings are covered.', { entries: check.entries, rows: check.rows })}
      </p>
    );
  return (
    <div class="record-check is-broken" role="alert">
      <b>{t('Checked: not intact.')}</b>
      <ul>
        {check.faults.map((fault) => (
          <li key={fault}>{told(fault, check.said)}</li>
        ))}
      </ul>
    </div>
  );
}

function CommentForm({ kept }: { kept: () => void }) {
  const [by, setBy] = useState('');
  const [text, setText] = useState('');
  const submit = async () => {
    if (by.trim() === '' || text.trim() === '') return tell(t('A comment needs a name and its words.'));
    if (!(await send('/api/runs/current/comments', { by, text }))) return;
    setText('');
    kept();
  };
  return (
    <form
      class="stage-form"
      data-form="comment"
      onSubmit={(event) => {
        event.preventDefault();
        void submit();
      }}
    >
      <h3>{t('Comment beside the record')}</h3>
      <div class="fields">
        <div class="field is-text">
          <label for="comment-by">{t('By')}</label>
          <input id="comment-by" maxLength={200} value={by} onInput={(e) => setBy(e.currentTarget.value)} />
        </div>
        <div class="field is-text">
          <label for="comment-text">{t('Comment')}</label>
          <input id="comment-text" maxLength={2000} value={text} onInput={(e) => setText(e.currentTarget.value)} />
        </div>
        <button type="submit" class="keep">
          {t('Keep')}
        </button>
      </div>
    </form>
  );
}

function Fingerprint({ label, text }: { label: string; text: string }) {
  return (
    <p class="fingerprint">
      <span>{label}</span>
      <code>{text}</code>
    </p>
  );
}

/** The seal: what it does before it is made, what it covers after, and comments beside it. */
export function RecordView({ isSigned }: { isSigned: boolean }) {
  const [state, setState] = useState<RecordState | string | null>(null);
  const sealed = view.value?.sealed === true;
  const mayWrite = me.value?.mayWrite !== false;
  const again = () => void load().then(setState);
  // Asked for anew when the run is signed or sealed, on this device or another, and when this one is paired.
  useEffect(again, [sealed, isSigned, mayWrite]);
  if (state === null) return null;
  if (typeof state === 'string')
    return (
      <section class="record" aria-label={t('Seal')}>
        <h3>{t('Seal')}</h3>
        <p role="alert">{state}</p>
      </section>
    );
  if (state.seal === null)
    return (
      <section class="record" aria-label={t('Seal')}>
        <h3>{t('Seal')}</h3>
        <p>
          {sealed
            ? t('The sealing was cut short, and nothing is signed yet. Mend what was in the way, then seal it again.')
            : isSigned
              ? t(
                  'Sealing signs the record and closes it: from then on it takes nothing more, only comments beside it.',
                )
              : t('Once it is signed, the record can be sealed.')}
        </p>
        <Fingerprint label={t('Key of this bridge')} text={state.fingerprint} />
        {(isSigned || sealed) && mayWrite && (
          <HoldButton
            className="keep seal"
            hold
            label={t('Seal the record, hold')}
            onAct={() => void send('/api/runs/current/seal', {}).then(again)}
          >
            {t('Seal the record, hold')}
          </HoldButton>
        )}
      </section>
    );
  const { seal, check, comments } = state;
  return (
    <section class="record is-sealed" aria-label={t('Seal')}>
      <h3>
        {t('Sealed')} {seal.sealedAt.slice(0, 16).replace('T', ' ')} UTC
      </h3>
      {check !== null && <Check check={check} />}
      <p>{t('For the next job, start the bridge again: it begins a new run by itself.')}</p>
      <Fingerprint label={t('Key')} text={seal.fingerprint} />
      <Fingerprint label={t('Last entry')} text={seal.head} />
      {comments.length > 0 && (
        <ul class="comments">
          {comments.map((c) => (
            <li key={c.written_at + c.text}>
              <b>{c.by}</b>, {c.written_at.slice(0, 16).replace('T', ' ')} UTC: {c.text}
            </li>
          ))}
        </ul>
      )}
      {mayWrite && <CommentForm kept={again} />}
    </section>
  );
}
