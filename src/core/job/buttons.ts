import { testItemNames, testItems } from '../chemistry/limits.ts';
import type { Verdict } from '../line/verdict.ts';
import type { Message, Teller } from '../message/message.ts';
import { nameOf, nextEmitter } from './band.ts';
import { isBeforeEmitters, nextStage, type StageId, stageOf } from './stages.ts';
import { isStageName } from './record.ts';
import type { RunEvent } from './event.ts';
import { entryCautions } from './moves.ts';
import { type CautionId, cautions } from './stages/cautions.ts';
import { gateOf } from './stages/page.ts';
import type { Look } from './stages/stage.ts';
import { isTypedName, typedFields } from './stages/typed.ts';
import { weighedForm } from './stages/finish.ts';
import { stageSpecs } from './stages/table.ts';
import type { Entry, Job } from './state.ts';
import type { ButtonView, EmitterView } from './view-schema.ts';
import { isWater, waterTitles } from './water-tests.ts';

/** A button before it is said. A plain label is a phrase of a stage. */
interface Plan {
  readonly event: string;
  readonly label: string | Message;
  readonly emitter?: string;
  readonly note?: string;
  readonly hold?: boolean;
  readonly primary?: boolean;
  readonly why?: boolean;
}

const label = (code: string, params: Message['params'] = {}): Message => ({ code: `button.${code}`, params });

const buttonOf = (plan: Plan, say: Teller['say']): ButtonView => ({
  id: plan.emitter === undefined ? plan.event : `${plan.event} ${plan.emitter}`,
  label: typeof plan.label === 'string' ? plan.label : say(plan.label),
  event: plan.event,
  emitter: plan.emitter ?? '',
  note: plan.note ?? '',
  hold: plan.hold ?? false,
  primary: plan.primary ?? false,
  why: plan.why ?? false,
});

/** At most three buttons: what makes sense now. One that leaves work undone asks to be held, and why. */
export function buttonsOf(
  look: Look,
  verdict: Verdict,
  emitters: readonly EmitterView[],
  isOpen: boolean,
  isAlarmFirst: boolean,
  say: Teller['say'],
): ButtonView[] {
  const plans = plansOf(look, verdict, emitters, isOpen);
  // None is asked for while the band asks for something else first; each can be pressed all the same.
  return plans.map((plan) => buttonOf(isAlarmFirst ? { ...plan, primary: false } : plan, say));
}

function plansOf(look: Look, verdict: Verdict, emitters: readonly EmitterView[], isOpen: boolean): Plan[] {
  const { job } = look;
  if (job.stage === 'end') return [];
  if (job.paused) return [{ event: 'resume', label: label('go-on'), primary: true }];
  if (job.openEmitter !== null && !isBeforeEmitters(job.stage)) return openButtons(look, verdict, emitters, isOpen);
  if (job.stage === 'emitters') return betweenButtons(job, emitters, isOpen);
  return stageButtons(look, isOpen);
}

function openButtons(look: Look, verdict: Verdict, emitters: readonly EmitterView[], isOpen: boolean): Plan[] {
  const { job } = look;
  const open = job.openEmitter ?? '';
  const next = nextEmitter(emitters, open);
  const done = verdict.done;
  const shut: Plan = {
    event: 'emitter-shut',
    emitter: open,
    label: label('shut', { emitter: nameOf(emitters, open) }),
    hold: !done,
    primary: done && !next,
  };
  if (job.stage !== 'emitters')
    return [{ ...shut, hold: false, primary: false }, ...stageButtons(look, isOpen)].slice(0, 3);
  // Where the words say to wait or to look (`bandOf`), no button says to press it; it stands there for a pass made all the same.
  const { state, reason } = verdict;
  const isFirst = state === 'idle' || (state === 'watching' && job.passesS.length === 0);
  const isAsked = isFirst || (state === 'clear' && !done) || (state === 'cannot-tell' && reason.code === 'other-kit');
  const pass: Plan = { event: 'agitate-end', emitter: open, label: label('pass'), primary: isAsked };
  if (!next) return [pass, shut];
  const onward: Plan = {
    event: 'emitter-open',
    emitter: next.id,
    label: label('shut-open', { next: next.name }),
    hold: !done,
    primary: done,
  };
  return [pass, onward, shut];
}

function betweenButtons(job: Job, emitters: readonly EmitterView[], isOpen: boolean): Plan[] {
  const next = nextEmitter(emitters, null);
  const after = nextStage('emitters');
  const onward = after === null ? [] : [stageButton(job, after, isOpen, next === null)];
  if (!next) return onward;
  return [
    { event: 'emitter-open', emitter: next.id, label: label('open', { emitter: next.name }), primary: true },
    {
      event: 'skip',
      emitter: next.id,
      label: label('skip', { emitter: next.name }),
      hold: true,
      why: true,
    },
    ...onward,
  ];
}

/** What the stage itself asks to be pressed, on to the next one, or straight to the emitters. */
function stageButtons(look: Look, isOpen: boolean): Plan[] {
  const { job } = look;
  const next = nextStage(job.stage);
  // A signed run ends by its seal, which has a place of its own on the page.
  if (next === null || (next === 'end' && job.handedOver)) return [];
  const action = isStageName(job.stage) ? (stageSpecs[job.stage].action?.(look) ?? null) : null;
  const first = action ? [{ ...action, primary: !isOpen }] : [];
  const [caution] = entryCautions(job, next);
  const onward = caution
    ? cautionButton(look, caution, first.length === 0)
    : [stageButton(job, next, isOpen, isOpen || first.length === 0)];
  const straight =
    isBeforeEmitters(job.stage) && next !== 'emitters' && mayEnter(job, 'emitters')
      ? [stageButton(job, 'emitters', job.stage === null, false)]
      : [];
  // Without a stage yet nothing is left undone by going straight to the emitters, but it is held all the same.
  const why = isStageName(job.stage);
  return [...first, ...onward, ...straight.map((b) => ({ ...b, hold: true, why }))];
}

/** A gating caution is confirmed when all else of the gate is there; earlier, its place on the page serves. */
function cautionButton(look: Look, caution: CautionId, primary: boolean): Plan[] {
  const others = gateOf(look).filter((m) => m.code !== 'stage.caution');
  if (others.length > 0) return [];
  return [
    {
      event: 'caution-read',
      label: label('caution', { title: cautions[caution].title }),
      note: caution,
      hold: true,
      primary,
    },
  ];
}

/** What would be refused for a caution is not offered: the page asks for the caution first. */
function mayEnter(job: Job, to: StageId): boolean {
  return entryCautions(job, to).length === 0;
}

function stageButton(job: Job, name: StageId, isOpen: boolean, primary: boolean): Plan {
  const title = stageOf(name)?.title ?? name;
  const why = !isOpen && isStageName(job.stage);
  return {
    event: `stage:${name}`,
    label: name === 'end' ? label('end') : label('start', { stage: title }),
    hold: why || name === 'end',
    primary: primary && !why && name !== 'end',
    why,
  };
}

/** What was typed, as its form calls it. */
function whatOf(event: string, data: NonNullable<RunEvent['data']>): string {
  const what = String(data['what'] ?? '');
  switch (event) {
    case 'corrected':
      return whatOf(String(data['of'] ?? ''), data);
    case 'sample':
      return isWater(data['water']) ? waterTitles[data['water']] : '';
    case 'typed':
      return isTypedName(what) ? typedFields[what].title : what;
    case 'weighed':
      return weighedForm.title;
    case 'limit': {
      const item = testItemNames.find((i) => i === data['item']);
      return item ? testItems[item].title : '';
    }
    default:
      return what;
  }
}

/** What was done, in words, for the undo chip. */
export function eventLabel({ event, who }: Entry, emitters: readonly EmitterView[]): Message {
  const done = (code: string): Message => ({
    code: `undo.${code}`,
    params: { emitter: nameOf(emitters, event.emitter) },
  });
  switch (event.event) {
    case 'agitate-end':
      return done(who === 'kit' ? 'pass-kit' : 'pass');
    case 'emitter-open':
      return done('open');
    case 'emitter-shut':
      return done('shut');
    case 'skip':
      return done('skip');
    case 'override':
      return done('override');
    case 'dose':
    case 'label':
    case 'typed':
    case 'sample':
    case 'limit':
    case 'weighed':
    case 'corrected':
      return { code: `undo.${event.event}`, params: { what: whatOf(event.event, event.data ?? {}) } };
    default:
      return { code: 'undo.stage', params: { stage: stageOf(event.event.slice(6))?.title ?? '' } };
  }
}
