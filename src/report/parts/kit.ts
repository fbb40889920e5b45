import { channels } from '../../core/quantity/channels.ts';
import { defaultLineSettings, type KeptSettings, type LineSettings, understood } from '../../core/line/settings.ts';
import type { RunEvent } from '../../core/job/event.ts';
import type { Section } from '../block.ts';
import { figure, missing, said } from '../fact.ts';
import { dataNumber, dataText, eventsNamed } from '../../core/audit/gather.ts';
import { settingsOf } from '../../core/audit/record.ts';
import type { Gathered } from '../gather.ts';

/** What measured, how it was calibrated, and the settings that decided. */
export function kitSection(g: Gathered): Section {
  const hello = eventsNamed(g, 'kit-hello').at(-1)?.event;
  const kit = (hello && dataText(hello, 'kit')) || (g.driven.context.kit?.id ?? '');
  const rate = hello ? dataNumber(hello, 'rateHz') : null;
  return {
    id: 'kit',
    title: 'Kit, calibration and settings',
    blocks: [
      {
        kind: 'facts',
        rows: [
          { label: 'Kit', fact: kit ? said(kit) : missing('the kit did not say who it is') },
          {
            label: 'Firmware',
            fact: hello ? said(dataText(hello, 'firmware')) : missing('the kit did not say its version'),
          },
          {
            label: 'Readings',
            fact: said(
              `${g.input.samples.length}${rate === null ? '' : `, ${figure(rate, 'a second')} by the kit's own word`}`,
            ),
          },
        ],
      },
      {
        kind: 'table',
        caption: 'Channels and their calibration',
        columns: [
          { title: 'Channel', share: 0.3 },
          { title: 'Measured', share: 0.13 },
          { title: 'Range', share: 0.15 },
          { title: 'Step', share: 0.1 },
          { title: 'Certificate', share: 0.32 },
        ],
        rows: channelRows(g, hello),
        none: '',
      },
      {
        kind: 'table',
        caption: 'Settings that decided, as far as they differ from the defaults',
        columns: [
          { title: 'Setting', share: 0.5 },
          { title: 'In this report', share: 0.25, end: true },
          { title: 'Default', share: 0.25, end: true },
        ],
        rows: [...differing(settingsOf(g.input)), ...strange(g.input.head.settings ?? {})],
        none: none(g.input.head.settings !== undefined),
      },
      {
        kind: 'text',
        text: 'Every verdict in this report was worked out anew from the readings and events of the record, by the same code that ran beside the rig.',
      },
    ],
  };
}

function channelRows(g: Gathered, hello: RunEvent | undefined): string[][] {
  const told = g.driven.context.kit?.channels ?? {};
  return channels.map((c) => {
    const isThere = g.input.samples.some((s) => s[c.key] !== null);
    const [lo, hi, step] = (['lo', 'hi', 'step'] as const).map((key) => {
      const value = (hello && dataNumber(hello, `${key}-${c.name}`)) ?? told[c.name]?.[key] ?? null;
      return value === null ? 'not told' : figure(value, '');
    });
    const range = lo === 'not told' && hi === 'not told' ? 'not told' : `${lo} to ${hi}`;
    const measured = isThere ? 'yes' : 'no readings';
    return [`${c.title}, ${c.unit}`, measured, range, step ?? 'not told', calibration(g, c.name)];
  });
}

/** What the run went by and this version does not know. */
function strange(kept: KeptSettings): string[][] {
  return understood(kept).strange.map((name) => [`${name} = ${kept[name]}`, 'not used', 'not of this version']);
}

function none(isKept: boolean): string {
  return isKept
    ? 'The record keeps its settings; all are the defaults of this version.'
    : 'The record keeps no settings of its own: the defaults of this version.';
}

function differing(settings: LineSettings): string[][] {
  const defaults = new Map<string, number>(Object.entries(defaultLineSettings));
  return Object.entries(settings).flatMap(([name, value]) =>
    defaults.get(name) === value ? [] : [[name, String(value), String(defaults.get(name))]],
  );
}

function calibration(g: Gathered, channel: string): string {
  const event = eventsNamed(g, 'calibrated').findLast((e) => dataText(e.event, 'channel') === channel)?.event;
  if (!event) return 'not told';
  if (dataText(event, 'certificate') === '') return "none: the kit's own values";
  return certificateWords(event);
}

function certificateWords(event: RunEvent): string {
  const detection = dataNumber(event, 'limitOfDetection');
  const parts = [
    dataText(event, 'certificate'),
    `made ${dataText(event, 'made')} by ${dataText(event, 'who')}`,
    `due ${dataText(event, 'due')}`,
    dataText(event, 'state'),
  ];
  if (detection !== null) parts.push(`limit of detection ${figure(detection, '')}`);
  return parts.join(', ');
}
