import type { StageCondition } from '../../../src/core/job/view-schema.ts';
import { fixedText } from '../../shared/format.ts';
import { linkState } from '../model.ts';
import { decimalsOf, outward, rateUnitOf, unitOf, widthOutward } from '../../shared/units.ts';
import { type Phrase, t } from '../../shared/words/language.ts';

const stands: Readonly<Record<StageCondition['stand'], Phrase | ''>> = {
  inside: 'inside',
  low: 'too low',
  high: 'too high',
  'no-band': '',
  'not-measured': 'not measured',
};

function said(stand: StageCondition['stand']): string {
  const phrase = stands[stand];
  return phrase === '' ? '' : t(phrase);
}

function shown(c: StageCondition, value: number): number {
  return c.perMin ? widthOutward(c.kind, value) : outward(c.kind, value);
}

function bandText(c: StageCondition): string {
  const text = (value: number) =>
    fixedText(
      shown(c, value),
      c.kind === null && c.least === value && Number.isInteger(value)
        ? 0
        : decimalsOf(c.kind, c.kind === 'temperature' ? 0 : c.decimals),
    );
  if (c.least !== null && c.most !== null) return t('{least} to {most}', { least: text(c.least), most: text(c.most) });
  if (c.least !== null) return t('at least {least}', { least: text(c.least) });
  return c.most === null ? '' : t('at most {most}', { most: text(c.most) });
}

function Row({ condition: c }: { condition: StageCondition }) {
  const decimals = decimalsOf(c.kind, c.decimals);
  const band = bandText(c);
  const words = c.value === null ? c.words || t('not measured') : '';
  return (
    <li class={`condition is-${c.stand}`}>
      <span class="condition-label">{c.label}</span>
      <span class={`condition-value${words === '' ? '' : ' is-words'}`}>
        {c.value === null ? words : fixedText(shown(c, c.value), decimals)}
        {c.value !== null && <small>{c.perMin && c.kind ? rateUnitOf(c.kind) : unitOf(c.kind, c.unit)}</small>}
      </span>
      <span class="condition-band">
        {[
          c.value !== null && c.u !== null ? `\u00b1 ${fixedText(2 * widthOutward(c.kind, c.u), decimals)}` : '',
          band,
          c.note,
        ]
          .filter((text) => text !== '')
          .join('; ')}
      </span>
      <span class="condition-stand">{c.stand === 'not-measured' && words !== '' ? '' : said(c.stand)}</span>
    </li>
  );
}

/** Live figures, each beside the band that it should be in. */
export function Conditions({ conditions }: { conditions: readonly StageCondition[] }) {
  if (conditions.length === 0) return null;
  return (
    <ul class={`conditions${linkState.value === 'live' ? '' : ' is-old'}`} aria-label={t('Figures now')}>
      {conditions.map((c) => (
        <Row key={c.id} condition={c} />
      ))}
    </ul>
  );
}
