import { useEffect } from 'preact/hooks';
import type { ButtonView } from '../../src/server/protocol.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { switches } from '../shared/switches.ts';
import { t } from '../shared/words/language.ts';
import { listenToKeys } from './keys.ts';
import { leader, linkState, me, press, view, waiting } from './model.ts';
import { Pairing, TakeLead } from './pairing.tsx';

function noteOf(queued: number): string | null {
  if (queued > 1) return t('waiting to be sent ({count})', { count: queued });
  if (queued === 1) return t('waiting to be sent');
  return linkState.value === 'live' ? null : t('waits for the bridge');
}

function Action({ button, index }: { button: ButtonView; index: number }) {
  const queued = waiting.value.filter((tap) => tap.event === button.event && tap.emitter === button.emitter).length;
  const note = noteOf(queued);
  const hint = note ?? (button.hold ? t('press and hold') : null);
  const name = hint === null ? button.label : `${button.label}, ${hint}`;
  return (
    <HoldButton
      className={`action${button.primary ? ' is-primary' : ''}${button.label.length > 16 ? ' is-long' : ''}${note === null ? '' : ' is-waiting'}`}
      hold={button.hold}
      label={name}
      {...(switches.keys.on.value ? { shortcut: String(index + 1) } : {})}
      onAct={() => press(button)}
    >
      <span class="action-label">{button.label}</span> {hint !== null && <span class="action-hint">{hint}</span>}
    </HoldButton>
  );
}

/** The three things that make sense now, in a thumb's reach; on a device that may only watch, the way to work from it. */
export function Actions() {
  useEffect(() => listenToKeys(), []);
  if (me.value !== null && !me.value.mayWrite) return <Pairing />;
  if (leader.value === 'other') return <TakeLead />;
  return (
    <nav class="actions" aria-label={t('Actions')}>
      {view.value?.buttons.map((button, index) => (
        <Action key={button.id} button={button} index={index} />
      ))}
    </nav>
  );
}
