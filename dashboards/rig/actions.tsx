import type { ButtonView } from '../../src/server/protocol.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { linkState, me, press, view, waiting } from './model.ts';
import { Pairing } from './pairing.tsx';

function Action({ button }: { button: ButtonView }) {
  const queued = waiting.value.filter((tap) => tap.event === button.event && tap.emitter === button.emitter).length;
  const away = linkState.value !== 'live';
  const note =
    queued > 0 ? `waiting to be sent${queued > 1 ? ` (${queued})` : ''}` : away ? 'waits for the bridge' : null;
  const hint = note ?? (button.hold ? 'press and hold' : null);
  return (
    <HoldButton
      className={`action${button.primary ? ' is-primary' : ''}${button.label.length > 16 ? ' is-long' : ''}${note === null ? '' : ' is-waiting'}`}
      hold={button.hold}
      label={hint === null ? button.label : `${button.label}, ${hint}`}
      onAct={() => press(button)}
    >
      <span class="action-label">{button.label}</span>
      {hint !== null && <span class="action-hint">{hint}</span>}
    </HoldButton>
  );
}

/** The three things that make sense now, in a thumb's reach; on a device that may only watch, the way to pair it. */
export function Actions() {
  if (me.value !== null && !me.value.mayWrite) return <Pairing />;
  return (
    <nav class="actions" aria-label="Actions">
      {view.value?.buttons.map((button) => (
        <Action key={button.id} button={button} />
      ))}
    </nav>
  );
}
