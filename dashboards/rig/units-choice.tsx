import { type QuantityKind, unitChoices } from '../../src/core/quantity/units.ts';
import { HoldButton } from '../shared/hold-button.tsx';
import { unitAfter, units } from '../shared/units.ts';
import { t } from '../shared/words/language.ts';
import { post } from './model.ts';

const kinds: readonly QuantityKind[] = ['pressure', 'flow', 'volume', 'temperature'];

/** The units of this run, on screen and paper: each touch takes the next one, and the record keeps the choice. */
export function UnitsChoice() {
  return (
    <span class="units-choice">
      {kinds.map((kind) => (
        <HoldButton
          key={kind}
          className="tool"
          hold={false}
          label={t('{kind} in {unit}, of {all}', {
            kind: t(kind),
            unit: units.value[kind],
            all: unitChoices[kind].join(', '),
          })}
          onAct={() => post({ event: 'units', label: unitAfter(kind), data: { [kind]: unitAfter(kind) } })}
        >
          {units.value[kind]}
        </HoldButton>
      ))}
    </span>
  );
}
