import { alarmList, type ListedAlarm } from '../alarm/list.ts';
import { type AlarmKind, alarmRules } from '../alarm/rules.ts';
import type { Message, Teller } from '../message/message.ts';
import type { RunAlarms } from './run-alarms.ts';
import type { JobView } from './view-schema.ts';

/** What a page shows of the alarms; nothing where nobody watched. `also`: what else is known of one, by its kind. */
export function alarmView(
  alarms: Pick<RunAlarms, 'memory' | 'heard'> | undefined,
  say: Teller['say'],
  also: Partial<Readonly<Record<AlarmKind, Message | null>>> = {},
): JobView['alarms'] {
  if (!alarms) return { shown: [], more: 0, shelved: [], heard: 0, isCalling: false };
  const state = alarms.memory.alarms;
  const list = alarmList(state);
  return {
    shown: list.shown.map((alarm) => {
      const more = also[alarm.kind];
      return { ...shown(alarm, say), ...(more ? { also: say(more) } : {}) };
    }),
    more: list.more,
    shelved: list.shelved.map(({ kind, untilS }) => ({
      kind,
      text: say({ code: `alarm-${kind}`, params: state.entries[kind].figures }),
      untilS,
    })),
    heard: alarms.heard,
    // Calls until somebody has seen it; what stands and was seen, what is gone and what was put aside are silent.
    isCalling:
      !state.isSilenced &&
      alarmRules.some((r) => state.entries[r.kind].life === 'unacked' && state.entries[r.kind].shelvedUntilS === null),
  };
}

/** Whether an alarm comes before all other work: an urgent one as long as it stands, one to act on at once until it was seen. */
export function isAlarmFirst({ shown }: JobView['alarms']): boolean {
  return shown.some(
    ({ priority, stand }) => (priority === 'urgent' && stand !== 'gone') || (priority === 'prompt' && stand === 'new'),
  );
}

function shown(
  { kind, priority, entry, isFirstUp }: ListedAlarm,
  say: Teller['say'],
): JobView['alarms']['shown'][number] {
  const text = (code: string): string => say({ code, params: { ...entry.figures } });
  const plain = text(`alarm-${kind}`);
  return {
    kind,
    priority,
    text: entry.isChattering ? say({ code: 'alarm-chattering', params: { alarm: plain } }) : plain,
    toDo: text(`alarm-${kind}-do`),
    otherwise: text(`alarm-${kind}-else`),
    sinceS: entry.sinceS,
    stand: entry.life === 'returned' ? 'gone' : entry.life === 'acked' ? 'seen' : 'new',
    isFirstUp,
    mayShelve: priority !== 'urgent',
  };
}
