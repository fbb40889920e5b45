import type { Verdict } from '../line/verdict.ts';
import { say } from '../message/message.ts';
import { nameOf, nextEmitter } from './band.ts';
import type { RunEvent } from './event.ts';
import { isBeforeEmitters, nextStage, stageOf } from './stages.ts';
import type { Job } from './state.ts';
import type { ButtonView, EmitterView } from './view-schema.ts';

interface Plan {
  readonly event: string;
  readonly label: string;
  readonly emitter?: string;
  readonly note?: string;
  readonly hold?: boolean;
  readonly primary?: boolean;
}

const button = (plan: Plan): ButtonView => ({
  id: plan.emitter === undefined ? plan.event : `${plan.event} ${plan.emitter}`,
  label: plan.label,
  event: plan.event,
  emitter: plan.emitter ?? '',
  note: plan.note ?? '',
  hold: plan.hold ?? false,
  primary: plan.primary ?? false,
});

/** At most three buttons: what makes sense now. One that leaves work undone asks to be held. */
export function buttonsOf(job: Job, verdict: Verdict, emitters: readonly EmitterView[]): ButtonView[] {
  if (job.stage === 'end') return [];
  if (job.openEmitter !== null && !isBeforeEmitters(job.stage)) return openButtons(job, verdict, emitters);
  if (job.stage === 'emitters') return betweenButtons(emitters);
  return stageButtons(job);
}

function openButtons(job: Job, verdict: Verdict, emitters: readonly EmitterView[]): ButtonView[] {
  const open = job.openEmitter ?? '';
  const next = nextEmitter(emitters, open);
  const done = verdict.done;
  const shut = button({
    event: 'emitter-shut',
    emitter: open,
    label: `Shut ${nameOf(emitters, open)}`,
    hold: !done,
    primary: done && !next,
  });
  if (job.stage !== 'emitters') return [{ ...shut, hold: false }, ...stageButtons(job)].slice(0, 3);
  const pass = button({ event: 'agitate-end', emitter: open, label: 'Pass done', primary: !done });
  if (!next) return [pass, shut];
  const onward = button({
    event: 'emitter-open',
    emitter: next.id,
    label: `Shut and open ${next.name}`,
    hold: !done,
    primary: done,
  });
  return [pass, onward, shut];
}

function betweenButtons(emitters: readonly EmitterView[]): ButtonView[] {
  const next = nextEmitter(emitters, null);
  const after = nextStage('emitters');
  const onward = after === null ? [] : [stageButton(after, next !== null, next === null)];
  if (!next) return onward;
  return [
    button({ event: 'emitter-open', emitter: next.id, label: `Open ${next.name}`, primary: true }),
    button({
      event: 'skip',
      emitter: next.id,
      label: `Skip ${next.name}`,
      note: say({ code: 'job.skip-reason', params: {} }),
      hold: true,
    }),
    ...onward,
  ];
}

/** On to the next stage, or straight to the emitters. */
function stageButtons(job: Job): ButtonView[] {
  const next = nextStage(job.stage);
  if (next === null) return [];
  if (!isBeforeEmitters(job.stage) || next === 'emitters') return [stageButton(next, next === 'end', next !== 'end')];
  return [stageButton(next, false, true), stageButton('emitters', true, false)];
}

function stageButton(name: string, hold: boolean, primary: boolean): ButtonView {
  const title = stageOf(name)?.title ?? name;
  return button({
    event: `stage:${name}`,
    label: name === 'end' ? 'End the run' : `Start: ${title}`,
    hold,
    primary,
  });
}

/** What was done, in words, for the undo chip. */
export function eventLabel(event: RunEvent, emitters: readonly EmitterView[]): string {
  const name = nameOf(emitters, event.emitter);
  switch (event.event) {
    case 'agitate-end':
      return `Pass done: ${name}`;
    case 'emitter-open':
      return `Opened ${name}`;
    case 'emitter-shut':
      return `Shut ${name}`;
    case 'skip':
      return `Skipped ${name}`;
    case 'override':
      return `Override: ${name}`;
    default:
      return event.event.startsWith('stage:') ? `Started: ${stageOf(event.event.slice(6))?.title ?? ''}` : event.event;
  }
}
