import type { EmitterView } from '../../src/server/protocol.ts';
import { fixedText, gramsText } from '../shared/format.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { outward, unitOf } from '../shared/units.ts';
import { t } from '../shared/words/language.ts';
import { emitterMarks } from './emitter-list.tsx';
import { mayWork, post, press, view } from './model.ts';
import { lookedAt } from './work.ts';

const close = (): void => {
  lookedAt.value = null;
};

/** The order with this one a place earlier or later; null where that is no change. */
function moved(emitters: readonly EmitterView[], id: string, by: -1 | 1): string[] | null {
  const ids = emitters.map((e) => e.id);
  const at = ids.indexOf(id);
  const other = ids[at + by];
  if (at < 0 || other === undefined) return null;
  ids[at + by] = id;
  ids[at] = other;
  return ids;
}

/** What is done with an emitter out of its turn. Leaving one that is not done is held, as on the line's own buttons. */
function Acts({ emitter, emitters }: { emitter: EmitterView; emitters: readonly EmitterView[] }) {
  const now = view.value;
  const open = emitters.find((e) => e.status === 'open');
  const isLeaving = open !== undefined && now?.verdict.done !== true;
  const button = (event: string, label: string, hold: boolean, why: boolean) => ({
    id: event,
    label,
    event,
    emitter: emitter.id,
    note: '',
    hold,
    primary: false,
    why,
  });
  const mayOpen = now?.stage === 'emitters' && emitter.status !== 'open' && now.paused === null;
  const openLabel =
    open === undefined
      ? t('Open {name}', { name: emitter.name })
      : t('Shut {open}, open {name}', { open: open.name, name: emitter.name });
  const order = (by: -1 | 1, label: string) => {
    const ids = moved(emitters, emitter.id, by);
    return (
      ids !== null && (
        <HoldButton
          className="reason-choice"
          hold={false}
          label={label}
          onAct={() => post({ event: 'survey-order', label: t('Order of visits'), note: ids.join(' ') })}
        >
          {label}
        </HoldButton>
      )
    );
  };
  return (
    <div class="reasons">
      {mayOpen && (
        <HoldButton
          className="reason-choice is-first"
          hold={isLeaving}
          label={openLabel}
          onAct={() => {
            press(button('emitter-open', openLabel, false, false));
            close();
          }}
        >
          {openLabel}
          {isLeaving && <span class="action-hint">{t('press and hold')}</span>}
        </HoldButton>
      )}
      {order(-1, t('Earlier'))}
      {order(1, t('Later'))}
      {emitter.status !== 'open' && emitter.status !== 'skipped' && (
        <HoldButton
          className="reason-choice"
          hold={false}
          label={t('Skip, with a reason')}
          onAct={() => {
            press(button('skip', t('Skip {name}', { name: emitter.name }), false, true));
            close();
          }}
        >
          {t('Skip, with a reason')}
        </HoldButton>
      )}
    </div>
  );
}

/** One emitter of the list, touched: what it holds, what it gave visit by visit, and what can be done with it. */
export function EmitterSheet() {
  const now = view.value;
  const emitter = now?.emitters.find((e) => e.id === lookedAt.value);
  if (!now || !emitter) return null;
  const litres = (value: number) => `${fixedText(outward('volume', value), 1)} ${unitOf('volume', 'l')}`;
  const facts = [
    t('Holds {litres}', { litres: litres(emitter.volumeL) }),
    t('to half-fill it, drop {litres}', { litres: litres(emitter.toDropL) }),
    ...(emitter.transitS === null
      ? []
      : [t('transit at this flow {seconds} s', { seconds: Math.round(emitter.transitS) })]),
  ];
  const { solidsG } = emitter;
  return (
    <div class="why" role="dialog" aria-modal="true" aria-label={emitter.name}>
      <h2>
        <span>
          {emitter.name} <small>{t(emitterMarks[emitter.status])}</small>
        </span>
        <HoldButton className="tool" hold={false} label={t('Go back')} onAct={close}>
          {t('Go back')}
        </HoldButton>
      </h2>
      <p class="sheet-line">{facts.join('; ')}.</p>
      {emitter.told.map((line) => (
        <p class="sheet-line" key={line}>
          {line}
        </p>
      ))}
      {solidsG !== null && (
        <p class="sheet-line">
          {t('Solids: about {grams} g, {from} to {to} (estimate)', {
            grams: gramsText(solidsG.value),
            from: gramsText(Math.max(0, solidsG.value - 2 * solidsG.u)),
            to: gramsText(solidsG.value + 2 * solidsG.u),
          })}
        </p>
      )}
      {mayWork.value && <Acts emitter={emitter} emitters={now.emitters} />}
    </div>
  );
}
