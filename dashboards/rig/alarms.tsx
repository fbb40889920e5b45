import { signal } from '@preact/signals';
import type { RunView } from '../../src/server/protocol.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { ageText } from '../shared/format.ts';
import { t } from '../shared/words/language.ts';
import { ageOf, clockMs, mayWork, me, post, runNowS, view } from './model.ts';

type Alarm = RunView['alarms']['shown'][number];

/** Kind of the alarm that is opened; `null`: none. */
const opened = signal<string | null>(null);
const isListOpen = signal(false);
const shelfMinutes = [5, 15, 30] as const;

const outlines: Readonly<Record<Alarm['priority'], string>> = {
  urgent: 'M12 1L23 12L12 23L1 12zM10.6 6v7.4h2.8V6zM10.6 15.4v2.8h2.8v-2.8z',
  prompt: 'M12 2L23 22H1zM10.7 9v6.4h2.6V9zM10.7 17v2.6h2.6V17z',
  plain: 'M2 5h20v14H2zM10.7 7.6v5.2h2.6V7.6zM10.7 14.4v2.2h2.6v-2.2z',
};
const ranks = { urgent: 'Urgent', prompt: 'Act now', plain: 'When hands are free' } as const;

function Mark({ priority }: { priority: Alarm['priority'] }) {
  return (
    <svg class="alarm-mark" viewBox="0 0 24 24" width={30} height={30} role="img" aria-label={t(ranks[priority])}>
      <path d={outlines[priority]} fill="currentColor" fill-rule="evenodd" />
    </svg>
  );
}

function acknowledge(alarm: Alarm): void {
  post({ event: 'alarm-acknowledge', note: alarm.kind, label: alarm.text });
}

function sinceText(alarm: Alarm): string {
  void clockMs.value;
  const ago = ageText(Math.max(2, ageOf(alarm.sinceS)));
  return alarm.stand === 'gone' ? t('came {ago} ago and went by itself', { ago }) : t('for {ago}', { ago });
}

function Row({ alarm, first }: { alarm: Alarm; first: boolean }) {
  const calling = view.value?.alarms.isCalling === true && first;
  const toDo = alarm.also === undefined ? alarm.toDo : `${alarm.toDo} ${alarm.also}`;
  return (
    <li class={`alarm is-${alarm.priority} is-${alarm.stand}${first ? ' is-first' : ''}`}>
      <HoldButton
        className="alarm-said"
        hold={false}
        label={`${first ? `${alarm.text} ${toDo} ${sinceText(alarm)}` : `${alarm.text} ${sinceText(alarm)}. ${toDo}`}. ${t('More of it')}`}
        onAct={() => {
          opened.value = alarm.kind;
        }}
      >
        <Mark priority={alarm.priority} />
        <span class="alarm-text">
          <b>{alarm.text}</b> <span class="alarm-do">{toDo}</span>{' '}
        </span>
        <span class="alarm-since">{sinceText(alarm)}</span>
      </HoldButton>
      {calling && me.value?.mayWrite !== false && (
        <HoldButton
          className="alarm-act"
          hold={false}
          label={t('Silence')}
          onAct={() => post({ event: 'alarm-silence', label: t('Silence') })}
        >
          {t('Silence')}
        </HoldButton>
      )}
      {alarm.stand !== 'seen' && mayWork.value && (
        <HoldButton
          className="alarm-act"
          hold={false}
          label={`${t('Seen')}: ${alarm.text}`}
          onAct={() => acknowledge(alarm)}
        >
          {t('Seen')}
        </HoldButton>
      )}
      {alarm.stand === 'seen' && <span class="alarm-seen">{t('seen')}</span>}
    </li>
  );
}

/** What stands, ranked, three at most; the first of a burst on top until somebody has seen it. */
export function Alarms() {
  const alarms = view.value?.alarms;
  if (!alarms || (alarms.shown.length === 0 && alarms.shelved.length === 0)) return null;
  const { shown, more, shelved } = alarms;
  return (
    <section class={`alarms has-${shown.length}`} aria-label={t('Alarms')}>
      {shown.length > 0 && (
        <div role="alert">
          <ul>
            {shown.map((alarm, i) => (
              <Row key={alarm.kind} alarm={alarm} first={i === 0} />
            ))}
          </ul>
        </div>
      )}
      {(more > 0 || shelved.length > 0) && (
        <p class="alarm-rest">
          {more > 0 && <span>{t('{count} more stand', { count: more })}</span>}
          {shelved.length > 0 && (
            <HoldButton
              className="tool"
              hold={false}
              label={t('{count} put aside', { count: shelved.length })}
              onAct={() => {
                isListOpen.value = true;
              }}
            >
              {t('{count} put aside', { count: shelved.length })}
            </HoldButton>
          )}
        </p>
      )}
      <AlarmSheet alarm={shown.find((a) => a.kind === opened.value) ?? null} />
      {isListOpen.value && shelved.length > 0 && <ShelfSheet />}
    </section>
  );
}

function close(): void {
  opened.value = null;
  isListOpen.value = false;
}

/** One alarm in full: what, since when, what to do, what happens if not; and the three things that can be done with it. */
function AlarmSheet({ alarm }: { alarm: Alarm | null }) {
  if (alarm === null) return null;
  const act = (what: () => void) => () => {
    what();
    close();
  };
  return (
    <div class="why" role="dialog" aria-modal="true" aria-label={alarm.text}>
      <h2>
        {alarm.text}
        <HoldButton className="tool" hold={false} label={t('Go back')} onAct={close}>
          {t('Go back')}
        </HoldButton>
      </h2>
      <p class="sheet-line">
        <b>{alarm.toDo}</b>
      </p>
      <p class="sheet-line">{t('If not: {otherwise}', { otherwise: alarm.otherwise })}</p>
      <p class="sheet-line is-quiet">
        {t(ranks[alarm.priority])}, {sinceText(alarm)}
      </p>
      {mayWork.value && (
        <div class="reasons">
          {alarm.stand !== 'seen' && (
            <HoldButton className="reason-choice" hold={false} label={t('Seen')} onAct={act(() => acknowledge(alarm))}>
              {t('Seen')}
            </HoldButton>
          )}
          {alarm.mayShelve &&
            shelfMinutes.map((minutes) => (
              <HoldButton
                key={minutes}
                className="reason-choice"
                hold={false}
                label={t('Put aside for {minutes} min', { minutes })}
                onAct={act(() =>
                  post({ event: 'alarm-shelve', note: alarm.kind, label: alarm.text, data: { minutes } }),
                )}
              >
                {t('Put aside for {minutes} min', { minutes })}
              </HoldButton>
            ))}
        </div>
      )}
      {!alarm.mayShelve && <p class="sheet-line is-quiet">{t('An urgent alarm cannot be put aside.')}</p>}
    </div>
  );
}

/** What was put aside comes back by itself; here sooner. */
function ShelfSheet() {
  void clockMs.value;
  return (
    <div class="why" role="dialog" aria-modal="true" aria-label={t('Put aside')}>
      <h2>
        {t('Put aside')}
        <HoldButton className="tool" hold={false} label={t('Go back')} onAct={close}>
          {t('Go back')}
        </HoldButton>
      </h2>
      {view.value?.alarms.shelved.map((one) => (
        <div key={one.kind} class="shelf-row">
          <p class="sheet-line">
            {one.text} {t('Back in {time}', { time: ageText(Math.max(2, one.untilS - runNowS())) })}
          </p>
          {mayWork.value && (
            <HoldButton
              className="reason-choice"
              hold={false}
              label={t('Show again')}
              onAct={() => post({ event: 'alarm-unshelve', note: one.kind, label: one.text })}
            >
              {t('Show again')}
            </HoldButton>
          )}
        </div>
      ))}
    </div>
  );
}
