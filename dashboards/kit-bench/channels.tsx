import type { BenchChannel, BenchView } from '../../src/core/job/bench-schema.ts';
import { ageText, fixedText } from '../shared/format.ts';

const decimals: Readonly<Record<string, number>> = { pressure: 3, conductivity: 0 };

export function valueText(name: string, value: number | null): string {
  return value === null ? '–' : fixedText(value, decimals[name] ?? 2);
}

function plain(value: number | null): string {
  return value === null ? '–' : String(Number(value.toPrecision(6))).replace('-', '\u2212');
}

/** Every channel with what the converter gave, what the kit made of it, and what enters the record. */
export function Channels({ kit }: { readonly kit: BenchView['kits'][number] }) {
  return (
    <section>
      <table class="channels">
        <thead>
          <tr>
            <th scope="col">Channel</th>
            <th scope="col">In the record</th>
            <th scope="col">By the kit</th>
            <th scope="col">Raw</th>
            <th scope="col">Range and step</th>
            <th scope="col">Calibration</th>
          </tr>
        </thead>
        <tbody>
          {kit.channels.map((channel) => (
            <Row channel={channel} key={channel.name} />
          ))}
        </tbody>
      </table>
    </section>
  );
}

function Row({ channel: c }: { readonly channel: BenchChannel }) {
  const old = c.ageS === null || c.ageS > 3;
  return (
    <tr class={old ? 'is-old' : ''} data-channel={c.name}>
      <th scope="row">{c.title}</th>
      <td class="figure">
        {valueText(c.name, c.value)} <small>{c.unit}</small>
        {c.u !== null && <small class="quiet"> ± {plain(Number(c.u.toPrecision(2)))}</small>}
        {old && <small class="warn"> {c.ageS === null ? 'not sent' : `silent for ${ageText(c.ageS)}`}</small>}
        {c.outside && <small class="warn"> beyond the standards</small>}
      </td>
      <td data-label="By the kit">{valueText(c.name, c.kitValue)}</td>
      <td data-label="Raw">{plain(c.raw)}</td>
      <td class="quiet" data-label="Range and step">
        {c.lo === null && c.hi === null && c.step === null ? 'not told' : rangeText(c)}
      </td>
      <td data-label="Calibration">
        {c.certificate === null ? (
          <span class="warn">none: the kit's own value</span>
        ) : (
          <span class={c.certificate.overdue ? 'warn' : ''}>
            <span class="date">{c.certificate.made}</span> by {c.certificate.who},{' '}
            {c.certificate.overdue ? 'overdue since' : 'due'} <span class="date">{c.certificate.due}</span>
          </span>
        )}
      </td>
    </tr>
  );
}

function rangeText({ lo, hi, step }: BenchChannel): string {
  const range =
    lo === null ? (hi === null ? '' : `up to ${plain(hi)}`) : `${plain(lo)} to ${hi === null ? '?' : plain(hi)}`;
  return [range, step === null ? '' : `step ${plain(Number(step.toPrecision(3)))}`].filter(Boolean).join(', ');
}
