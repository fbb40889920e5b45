import { HoldButton } from '../../shared/hold-button.tsx';
import { clockText } from '../../shared/format.ts';
import { t } from '../../shared/words/language.ts';
import { post, undo, view } from '../model.ts';
import { type Filled, figuresText } from './draft.ts';
import { FormView } from './form.tsx';
import { puttingRight } from './put-right-button.tsx';

type Typed = NonNullable<typeof view.value>['typed'][number];

const close = (): void => {
  puttingRight.value = null;
};

/** One figure that was typed: as it should be, or not at all. */
function One({ entry }: { entry: Typed }) {
  const { id, form } = entry;
  const keep = (data: Filled) => {
    post({ event: 'corrected', label: t('Put right: {what}', { what: form.title }), data: { ...data, corrects: id } });
    close();
  };
  return (
    <>
      <p class="sheet-line">
        {t('Typed at {clock}: {what}', { clock: clockText(entry.timeS), what: figuresText(form) })}
      </p>
      <p class="sheet-line is-quiet">
        {t('The right one takes its place; the wrong one stays in the record, struck out.')}
      </p>
      <FormView key={id} form={{ ...form, id: `right-${form.id}`, submit: t('Put it right') }} keep={keep} />
      <div class="reasons">
        <HoldButton
          className="reason-choice"
          hold
          label={`${t('It never was: take it back')}, ${t('press and hold')}`}
          onAct={() => {
            undo(id, form.title);
            close();
          }}
        >
          {t('It never was: take it back')} <span class="action-hint">{t('press and hold')}</span>
        </HoldButton>
      </div>
    </>
  );
}

/** What was typed, newest first: one is chosen, then put right. Open until the record is sealed. */
export function PutRight() {
  const asked = puttingRight.value;
  const now = view.value;
  if (asked === null || now === null || now.sealed === true) return null;
  const typed = now.typed.filter((entry) => asked.of === '' || entry.form.id === asked.of);
  const chosen = typed.find((entry) => entry.id === asked.id);
  const title = chosen ? chosen.form.title : t('Typed wrong? Put it right');
  return (
    <div class="why" role="dialog" aria-modal="true" aria-label={title}>
      <h2>
        <span>{title}</span>
        <HoldButton className="tool" hold={false} label={t('Go back')} onAct={close}>
          {t('Go back')}
        </HoldButton>
      </h2>
      {chosen ? (
        <One entry={chosen} />
      ) : (
        <div class="reasons">
          {typed.map(({ id, timeS, form }) => (
            <HoldButton
              key={id}
              className="reason-choice typed-choice"
              hold={false}
              label={`${form.title}, ${clockText(timeS)} ${figuresText(form)}`}
              onAct={() => {
                puttingRight.value = { ...asked, id };
              }}
            >
              <span>
                {form.title}, {clockText(timeS)}
              </span>{' '}
              <b>{figuresText(form)}</b>
            </HoldButton>
          ))}
        </div>
      )}
    </div>
  );
}
