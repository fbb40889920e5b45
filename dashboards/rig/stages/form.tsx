import { useState } from 'preact/hooks';
import type { StageField, StageForm } from '../../../src/core/job/view-schema.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { post } from '../model.ts';
import { decimalsOf, inward, outward, unitOf } from '../../shared/units.ts';
import { t, told } from '../../shared/words/language.ts';

type Draft = Readonly<Record<string, string>>;

function decimals(field: StageField): number {
  return field.quantity === undefined &&
    field.decimals === undefined &&
    field.step !== undefined &&
    Number.isInteger(field.step)
    ? 0
    : decimalsOf(field.quantity, field.decimals);
}

/** As typed: in the units of this device, without trailing noughts. */
function textOf(field: StageField, value: number | string | undefined): string {
  if (value === undefined) return '';
  return typeof value === 'string' ? value : String(Number(outward(field.quantity, value).toFixed(decimals(field))));
}

function startOf(form: StageForm): Draft {
  return Object.fromEntries(form.fields.map((f) => [f.name, textOf(f, form.last?.[f.name] ?? f.start)]));
}

/** A figure from what was typed, comma or point; NaN when it is none. */
export function figureOf(text: string): number {
  return /^\s*[-+]?\d+([.,]\d+)?\s*$/.test(text) ? Number(text.trim().replace(',', '.')) : Number.NaN;
}

type Data = Record<string, string | number>;

/** What would be sent, or what is wrong with it. */
function filledIn(form: StageForm, draft: Draft): Data | string {
  const data: Data = { ...form.fixed };
  for (const field of form.fields) {
    const text = (draft[field.name] ?? '').trim();
    if (text === '') {
      if (field.optional) continue;
      return t('{field} is missing.', { field: field.label });
    }
    if (field.kind !== 'number') {
      data[field.name] = text;
      continue;
    }
    const value = inward(field.quantity, figureOf(text));
    if (Number.isNaN(value)) return t('{field}: "{found}" is no number.', { field: field.label, found: text });
    const low = field.least ?? Number.NEGATIVE_INFINITY;
    const high = field.most ?? Number.POSITIVE_INFINITY;
    if (value < low - 1e-9 || value > high + 1e-9)
      return t('{field}: {least} to {most} {unit} is possible.', {
        field: field.label,
        least: textOf(field, field.least),
        most: textOf(field, field.most),
        unit: unitOf(field.quantity, field.unit ?? ''),
      });
    data[field.name] = Math.round(value * 1e6) / 1e6;
  }
  return data;
}

function Figure(props: { field: StageField; text: string; change: (text: string) => void; id: string }) {
  const { field, text, change, id } = props;
  const { step } = field;
  const move = (by: number) => {
    const now = figureOf(text);
    const inside = inward(field.quantity, Number.isNaN(now) ? 0 : now) + by;
    const held = Math.min(field.most ?? inside, Math.max(field.least ?? inside, inside));
    change(textOf(field, held));
  };
  const input = (
    <input id={id} inputMode="decimal" autocomplete="off" value={text} onInput={(e) => change(e.currentTarget.value)} />
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

function FieldView(props: { form: string; field: StageField; text: string; change: (text: string) => void }) {
  const { field, text, change } = props;
  const id = `${props.form}-${field.name}`;
  const unit = unitOf(field.quantity, field.unit ?? '');
  return (
    <div class={`field is-${field.kind}${field.step === undefined ? '' : ' is-stepped'}`}>
      <label for={id}>
        {field.label}
        {unit !== '' && <span class="field-unit">{unit}</span>}
      </label>
      {field.kind === 'choice' ? (
        <select id={id} value={text} onChange={(e) => change(e.currentTarget.value)}>
          {field.choices.map((choice) => (
            <option key={choice} value={choice}>
              {told(choice)}
            </option>
          ))}
        </select>
      ) : field.kind === 'text' ? (
        <input id={id} autocomplete="off" maxLength={200} value={text} onInput={(e) => change(e.currentTarget.value)} />
      ) : (
        <Figure id={id} field={field} text={text} change={change} />
      )}
    </div>
  );
}

function lastText(form: StageForm): string | null {
  if (form.last === null) return null;
  const parts = form.fields.flatMap((f) => {
    const value = form.last?.[f.name];
    if (value === undefined) return [];
    const name = form.fields.length === 1 ? '' : `${f.label.split(',')[0] ?? ''} `;
    return [`${name}${textOf(f, value)} ${unitOf(f.quantity, f.unit ?? '')}`.trim()];
  });
  return parts.length === 0 ? null : t('Kept: {what}', { what: parts.join('; ') });
}

/** Typed input; what was begun stays while the figures around it change. */
export function FormView({ form }: { form: StageForm }) {
  const [draft, setDraft] = useState<Draft>(() => startOf(form));
  const [wrong, setWrong] = useState<string | null>(null);
  const submit = () => {
    const data = filledIn(form, draft);
    if (typeof data === 'string') return setWrong(data);
    setWrong(null);
    post({ event: form.event, label: form.title, data });
  };
  const last = lastText(form);
  return (
    <form
      class={`stage-form${form.fields.length > 3 ? ' is-wide' : ''}`}
      data-form={form.id}
      onSubmit={(event) => {
        event.preventDefault();
        submit();
      }}
    >
      <h3>{form.title}</h3>
      {form.about !== undefined && <p class="about">{form.about}</p>}
      <div class="fields">
        {form.fields.map((field) => (
          <FieldView
            key={field.name}
            form={form.id}
            field={field}
            text={draft[field.name] ?? ''}
            change={(text) => setDraft((now) => ({ ...now, [field.name]: text }))}
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
    </form>
  );
}
