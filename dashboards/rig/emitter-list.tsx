import { useEffect, useRef } from 'preact/hooks';
import type { EmitterView } from '../../src/server/protocol.ts';
import { clockText, ntuText } from '../shared/format.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { runNowS, told, undo, view, waiting } from './model.ts';

const marks: Readonly<Record<EmitterView['status'], string>> = {
  'to-come': 'to come',
  open: 'now',
  done: 'done',
  left: 'left',
  skipped: 'skipped',
};

function gave(emitter: EmitterView): string {
  const parts: string[] = [];
  if (emitter.passes > 0) parts.push(emitter.passes === 1 ? '1 pass' : `${emitter.passes} passes`);
  if (emitter.peakNtu !== null) parts.push(`peak ${ntuText(emitter.peakNtu)} NTU`);
  if (emitter.clearAfterS !== null) parts.push(`clear in ${clockText(emitter.clearAfterS)}`);
  return parts.join(', ');
}

function Row({ emitter }: { emitter: EmitterView }) {
  const row = useRef<HTMLLIElement>(null);
  const here = emitter.status === 'open';
  useEffect(() => {
    // Only the list moves, never the page.
    const list = row.current?.parentElement;
    if (here && row.current && list) list.scrollTop = row.current.offsetTop - list.offsetTop - list.clientHeight / 3;
  }, [here]);
  return (
    <li ref={row} class={`emitter is-${emitter.status}`} aria-current={here ? 'step' : undefined}>
      <span class="emitter-name">{emitter.name}</span>
      <span class="emitter-mark">{marks[emitter.status]}</span>
      <span class="emitter-gave">{gave(emitter)}</span>
    </li>
  );
}

/** The plan and the progress; below it the last action, which can be taken back for a while. */
export function EmitterList() {
  const now = view.value;
  if (now === null) return null;
  const done = now.emitters.filter((e) => e.status === 'done').length;
  return (
    <section class="plan" aria-label="Emitters">
      <h2>
        {now.stageTitle}
        <span>
          {done} of {now.emitters.length} done
        </span>
      </h2>
      <ol class="emitters" tabIndex={0} aria-label="Emitters in order of work">
        {now.emitters.map((emitter) => (
          <Row key={emitter.id} emitter={emitter} />
        ))}
      </ol>
      <Aside />
    </section>
  );
}

/** One place for what passes: a refusal, taps that wait, the undo, the newest notice. */
export function Aside() {
  const now = view.value;
  if (now === null) return null;
  if (told.value !== null)
    return (
      <p class="aside is-warn" role="alert">
        {told.value.text}
      </p>
    );
  if (waiting.value.length > 0)
    return (
      <p class="aside" role="status">
        Waiting to be sent: {waiting.value.map((tap) => tap.label).join(', ')}
      </p>
    );
  const last = now.undo;
  if (last !== null && last.untilS > runNowS())
    return (
      <HoldButton
        className="aside undo"
        hold={false}
        label={`Undo: ${last.label}`}
        onAct={() => undo(last.id, last.label)}
      >
        Undo: {last.label}
      </HoldButton>
    );
  const notice = now.notices.at(-1);
  return notice !== undefined && runNowS() - notice.atS < 120 ? <p class="aside">{notice.text}</p> : null;
}
