import { useEffect, useRef } from 'preact/hooks';
import type { EmitterView } from '../../src/server/protocol.ts';
import { clockText, gramsText, ntuText } from '../shared/format.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { t } from '../shared/words/language.ts';
import { mayWork, runNowS, told, undo, view, waiting } from './model.ts';
import { isWorkOpen, lookedAt } from './work.ts';

export const emitterMarks = {
  'to-come': 'to come',
  open: 'now',
  done: 'done',
  left: 'left',
  skipped: 'skipped',
} as const satisfies Readonly<Record<EmitterView['status'], string>>;

function gave(emitter: EmitterView): string {
  const parts: string[] = [];
  if (emitter.passes > 0)
    parts.push(emitter.passes === 1 ? t('1 pass') : t('{count} passes', { count: emitter.passes }));
  if (emitter.peakNtu !== null) parts.push(t('peak {ntu} NTU', { ntu: ntuText(emitter.peakNtu) }));
  if (emitter.solidsG !== null && emitter.passes > 0)
    parts.push(t('about {grams} g', { grams: gramsText(emitter.solidsG.value) }));
  if (emitter.clearAfterS !== null) parts.push(t('clear in {time}', { time: clockText(emitter.clearAfterS) }));
  return parts.join(', ');
}

function Row({ emitter }: { emitter: EmitterView }) {
  const row = useRef<HTMLLIElement>(null);
  const here = emitter.status === 'open';
  // Alarms take room from the list: the row of now is brought back into it.
  const crowd = view.value?.alarms.shown.length ?? 0;
  useEffect(() => {
    // Only the list moves, never the page.
    const list = row.current?.parentElement;
    if (here && row.current && list) list.scrollTop = row.current.offsetTop - list.offsetTop - list.clientHeight / 3;
  }, [here, crowd]);
  const mark = t(emitterMarks[emitter.status]);
  return (
    <li ref={row} class={`emitter is-${emitter.status}`} aria-current={here ? 'step' : undefined}>
      <HoldButton
        className="emitter-row"
        hold={false}
        label={`${emitter.name}: ${mark}. ${gave(emitter)}`}
        onAct={() => {
          lookedAt.value = emitter.id;
        }}
      >
        <span class="emitter-name">{emitter.name}</span> <span class="emitter-mark">{mark}</span>{' '}
        <span class="emitter-gave">{gave(emitter)}</span>
      </HoldButton>
    </li>
  );
}

/** What is worked on, how far it is and when all is done; a touch opens the work behind the line, where there is one. */
function PlanHead() {
  const now = view.value;
  if (now === null) return null;
  const done = now.emitters.filter((e) => e.status === 'done').length;
  const count = t('{done} of {all} done', { done, all: now.emitters.length });
  const head = (
    <>
      <span class="plan-title">{now.stageTitle}</span> <span class="plan-count">{count}</span>{' '}
      {now.forecast !== null && <span class="plan-forecast">{now.forecast.short} </span>}
    </>
  );
  // Before the first stage and after the last one there is no page to open.
  if (now.stagePage === null) return <p class="plan-head">{head}</p>;
  return (
    <HoldButton
      className="plan-head"
      hold={false}
      label={`${now.stageTitle}, ${count}, ${now.forecast === null ? '' : `${now.forecast.short} `}${t('more')}: ${t('The work behind the line')}. ${now.forecast?.text ?? ''}`}
      onAct={() => {
        isWorkOpen.value = true;
      }}
    >
      {head}
      <span class="plan-more">{t('more')}</span>
    </HoldButton>
  );
}

/** The plan and the progress; below it the last action, which can be taken back for a while. */
export function EmitterList() {
  const now = view.value;
  if (now === null) return null;
  return (
    <section class="plan" aria-label={t('Emitters')}>
      <PlanHead />
      <ol class="emitters" tabIndex={0} aria-label={t('Emitters in order of work')}>
        {now.emitters.map((emitter) => (
          <Row key={emitter.id} emitter={emitter} />
        ))}
      </ol>
      <Aside />
    </section>
  );
}

/** A notice gives the list its place back after so long, run-clock seconds. */
const noticeS = 40;

/** One place for what passes: a refusal, taps that wait, the undo where it would be taken, the newest notice. */
export function Aside() {
  const now = view.value;
  if (now === null) return null;
  if (told.value !== null)
    return (
      <p class={`aside${told.value.isRemark ? '' : ' is-warn'}`} role={told.value.isRemark ? 'status' : 'alert'}>
        {told.value.text}
      </p>
    );
  if (waiting.value.length > 0)
    return (
      <p class="aside" role="status">
        {t('Waiting to be sent: {what}', { what: waiting.value.map((tap) => tap.label).join(', ') })}
      </p>
    );
  const last = now.undo;
  if (last !== null && mayWork.value && last.untilS > runNowS())
    return (
      <HoldButton
        className="aside undo"
        hold={false}
        label={t('Undo: {what}', { what: last.label })}
        onAct={() => undo(last.id, last.label)}
      >
        {t('Undo: {what}', { what: last.label })}
      </HoldButton>
    );
  // What an alarm says already is not said twice.
  const notice = now.alarms.shown.length === 0 ? now.notices.at(-1) : undefined;
  return notice !== undefined && runNowS() - notice.atS < noticeS ? <p class="aside">{notice.text}</p> : null;
}
