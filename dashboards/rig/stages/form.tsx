import { useState } from 'preact/hooks';
import type { StageField, StageForm } from '../../../src/core/job/view-schema.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { post } from '../model.ts';
import { unitOf } from '../../shared/units.ts';
import { t, told } from '../../shared/words/language.ts';
import {
  type Draft,
  type Entry,
  type Filled,
  filledIn,
  lastText,
  shownBy,
  startOf,
  stepped,
  textOf,
  typed,
} from './draft.ts';
import { PutRightButton } from './put-right-button.tsx';

interface Filling {
  readonly field: StageField;
  readonly entry: Entry | undefined;
  readonly change: (entry: Entry) => void;
}

function Figure({ field, entry, change, id }: Filling & { id: string }) {
  const { step } = field;
  const move = (by: number) => change(stepped(field, entry, by));
  const input = (
    <input
      id={id}
      inputMode="decimal"
      autocomplete="off"
      value={textOf(field, entry)}
      onInput={(e) => change(typed(field, e.currentTarget.value))}
    />
  );
  if (step === undefined) return input;
  return (
    <span class="stepper">
      <HoldButton
        className="step"
        hold={false}
        label={t('{field} less', { field: field.label })}
        onAct={() => move(-step)}
      >
        {'\u2212'}
      </HoldButton>
      {input}
      <HoldButton
        className="step"
        hold={false}
        label={t('{field} more', { field: field.label })}
        onAct={() => move(step)}
      >
        +
      </HoldButton>
    </span>
  );
}

function FieldView({ form, field, entry, change, isRigs }: Filling & { form: string; isRigs: boolean }) {
  const id = `${form}-${field.name}`;
  const text = textOf(field, entry);
  const type = (words: string) => change(typed(field, words));
  const unit = unitOf(field.quantity, field.unit ?? '');
  return (
    <div class={`field is-${field.kind}${field.step === undefined ? '' : ' is-stepped'}`}>
      <label for={id}>
        {field.label}
        {unit !== '' && <span class="field-unit">{unit}</span>}
        {isRigs && <span class="field-by">{t('the rig’s sensor')}</span>}
      </label>
      {field.kind === 'choice' ? (
        <select id={id} value={text} onChange={(e) => type(e.currentTarget.value)}>
          {field.choices.map((choice) => (
            <option key={choice} value={choice}>
              {told(choice)}
            </option>
          ))}
        </select>
      ) : field.kind === 'text' ? (
        <input id={id} autocomplete="off" maxLength={200} value={text} onInput={(e) => type(e.currentTarget.value)} />
      ) : (
        <Figure id={id} field={field} entry={entry} change={change} />
      )}
    </div>
  );
}

/**
 * Typed input; what was begun stays while the figures around it change, as an amount when the units do. `keep` takes
 * what was filled in; without it that is told as the form's own event, and what was kept can be put right from here.
 */
export function FormView({ form, keep }: { form: StageForm; keep?: (data: Filled) => void }) {
  const [changed, setChanged] = useState<Draft>({});
  const draft: Draft = { ...startOf(form), ...changed };
  const [wrong, setWrong] = useState<string | null>(null);
  const submit = () => {
    const data = filledIn(form, draft, changed);
    if (typeof data === 'string') return setWrong(data);
    setWrong(null);
    if (keep) keep(data);
    else post({ event: form.event, label: form.title, data });
  };
  const last = keep ? null : lastText(form);
  return (
    <form
      class={`stage-form${form.fields.length > 3 ? ' is-wide' : ''}`}
      data-form={form.id}
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
    >
      {!keep && <h3>{form.title}</h3>}
      {form.about !== undefined && <p class="about">{form.about}</p>}
      <div class="fields">
        {form.fields.map((field) => (
          <FieldView
            key={field.name}
            form={form.id}
            field={field}
            entry={draft[field.name]}
            isRigs={changed[field.name] === undefined && shownBy(form, field) === 'rig'}
            change={(entry) => setChanged((now) => ({ ...now, [field.name]: entry }))}
          />
        ))}
        <button type="submit" class="keep">
          {form.submit}
        </button>
      </div>
      {wrong !== null ? (
        <p class="wrong" role="alert">
          {wrong}
        </p>
      ) : (
        last !== null && <p class="last">{last}</p>
      )}
      {!keep && <PutRightButton of={form.id} />}
    </form>
  );
}
