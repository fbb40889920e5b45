import type { RunEvent } from '../../../../src/core/job/event.ts';
import { bentKits } from './bent-kits.ts';
import type { Sample } from '../../../../src/core/quantity/sample.ts';
import { at, type Bend, type Bent, during, event, plus, without } from './job-by-the-book.ts';

const ofHall = (e: RunEvent): boolean => e.emitter === 'hall';
const isPass = (e: RunEvent): boolean => e.event.startsWith('agitate');
const moved =
  (name: string, emitter: string, timeS: number): NonNullable<Bent['events']> =>
  (all) =>
    all.map((e) => (e.event === name && e.emitter === emitter ? { ...e, timeS } : e));
const withLoft: Bent['context'] = (c) => ({
  ...c,
  emitters: [...c.emitters, { id: 'loft', name: 'Loft', volume_l: 5 }],
});
const still = (s: Sample): Sample => ({ ...s, flowLpm: 0.02 });
const quietKitchen = during(at.kitchen, at.shut, (s) => ({ ...s, turbidityNtu: 8 + ((s.turbidityNtu ?? 0) % 0.2) }));

/** Without the bend the rule finds nothing. */
export const bends: readonly Bend[] = [
  ...bentKits,
  [
    'record-broken',
    'a file was changed after sealing',
    { record: { faults: [{ code: 'seal-file-changed', params: { file: 'events.csv', where: 'line 3' } }] } },
    'record-broken',
    'events.csv, line 3',
  ],
  [
    'record-broken',
    'two things were changed: the first in words, the other by number',
    {
      record: {
        faults: [
          { code: 'stored-chain-broken', params: { kind: 'changed', index: 7, count: 1 } },
          { code: 'stored-samples-gone', params: { fromS: 60, toS: 119 } },
        ],
      },
    },
    'record-broken',
    'limpid.sqlite: entry 7 was changed after it was kept. Compare it with a copy made before: a sealed record, an export, a backup. 1 more; the report lists them under "Seal".',
  ],
  ['record-broken', 'the seal does not fit', { record: { seal: { state: 'broken' } } }, 'record-broken', 'verify'],
  [
    'stage-left-out',
    'no warming up, no reason',
    { events: without((e) => e.event === 'stage:warm') },
    'stage-left-out:warm',
    'No reason was given',
  ],
  [
    'stage-left-out',
    'begun with the emitters, for a reason',
    {
      events: (all) =>
        all
          .filter((e) => !/^stage:(survey|join|fill|dose|warm|half-fill|before-samples)$/.test(e.event))
          .map((e) => (e.event === 'stage:emitters' ? { ...e, note: 'second day of the job' } : e)),
    },
    'stage-left-out:survey+before-samples+join+fill+dose+warm+half-fill',
    '"Half fill" were left out. Reason: second day of the job.',
  ],
  [
    'samples-missing',
    'mains not tested',
    { events: without((e) => e.data?.['water'] === 'mains') },
    'samples-missing:mains',
    'Mains: no water was tested',
  ],
  [
    'samples-outside',
    'acid after the work',
    { events: (all) => all.map((e) => (e.data?.['water'] === 'after' ? { ...e, data: { ...e.data, ph: 6.4 } } : e)) },
    'samples-outside:ph',
    'pH: 6.4, at least',
  ],
  [
    'hold-missing',
    'nobody held the pressure',
    { events: without((e) => e.event === 'hold-start') },
    'hold-missing',
    'no pressure hold',
  ],
  [
    'contact-short',
    'the label wants four hours',
    {
      events: (all) =>
        all.map((e) => (e.data?.['what'] === 'contact-min' ? { ...e, data: { ...e.data, value: 240 } } : e)),
    },
    'contact-short',
    'the label wants 240 min',
  ],
  [
    'hold-leak',
    'pressure falls in the hold',
    { sample: during(at.join, at.fill, (s) => ({ ...s, pressureBar: 1.5 - (s.timeS - at.join) / 1500 })) },
    'hold-leak',
    'mbar/min',
  ],
  [
    'volumes-apart',
    'half of the survey filled',
    {
      events: (all) =>
        all.map((e) => (e.data?.['what'] === 'fill-litres' ? { ...e, data: { ...e.data, value: 14 } } : e)),
    },
    'volumes-apart',
    'less',
  ],
  ['never-visited', 'a third radiator', { context: withLoft }, 'never-visited', 'Loft: neither'],
  [
    'left-before-clear',
    'shut in the midst of the first pulse',
    {
      events: (all) =>
        moved(
          'emitter-shut',
          'hall',
          at.hall + 178,
        )(all.filter((e) => !(ofHall(e) && isPass(e) && e.timeS > at.hall + 200))),
    },
    'left-before-clear:hall/1',
    'Hall was left after 3 min and 1 pass',
  ],
  [
    'left-untold',
    'turbidity unplugged to the end of the visit',
    { sample: during(at.hall + 300, at.hall + 890, (s) => ({ ...s, turbidityNtu: null })) },
    'left-untold:hall/1',
    'the turbidity sensor sent nothing',
  ],
  [
    'done-without-pass',
    'opened, left for a quarter of an hour, shut',
    { events: without((e) => isPass(e) && e.emitter === 'kitchen'), sample: quietKitchen },
    'done-without-pass:kitchen',
    'no pass marked and no pulse',
  ],
  [
    'passes-low',
    'one pass alone',
    {
      events: without((e) => ofHall(e) && isPass(e) && e.timeS > at.hall + 200),
      sample: during(at.hall + 350, at.hall + 890, (s) => ({ ...s, turbidityNtu: 8 + ((s.turbidityNtu ?? 0) % 0.2) })),
    },
    'passes-low:hall',
    'Hall was left after 1 pass; 2 at least',
  ],
  [
    'not-done',
    'no third pass',
    { events: without((e) => ofHall(e) && isPass(e) && e.timeS > at.hall + 500) },
    'not-done:hall',
    'the last one still brought 62 NTU',
  ],
  [
    'passes-unmarked',
    'the taps forgotten',
    { events: without((e) => ofHall(e) && isPass(e)) },
    'passes-unmarked:hall/1',
    '2 pulses came beside the 0 passes',
  ],
  [
    'skipped-emitter',
    'skipped with a reason',
    { context: withLoft, events: plus(event(at.shut + 5, 'skip', { emitter: 'loft', note: 'behind a wardrobe' })) },
    'skipped-emitter:loft',
    'Reason: behind a wardrobe.',
  ],
  [
    'verdict-overridden',
    'shut against the verdict',
    { events: plus(event(at.hall + 870, 'override', { emitter: 'hall', note: 'client in a hurry' })) },
    'verdict-overridden:e26',
    'Reason: client in a hurry.',
  ],
  [
    'more-than-one-open',
    'shut a minute after the next was opened',
    { events: moved('emitter-shut', 'hall', at.kitchen + 70) },
    `more-than-one-open:kitchen/taps/${at.kitchen}`,
    'Hall was told shut only 70 s after Kitchen',
  ],
  [
    'more-than-one-open',
    'the flow rose for five minutes of a visit',
    { sample: during(at.hall + 400, at.hall + 700, (s) => ({ ...s, flowLpm: 1.5 * (s.flowLpm ?? 0) })) },
    `more-than-one-open:hall/flow/${at.hall + 424}`,
    'l/min for 5 min; Hall alone gives about',
  ],
  [
    'water-stood',
    'the pump stood for four minutes of a visit, and for two while it circulated',
    {
      sample: (s) =>
        during(at.hall + 400, at.hall + 640, still)(during(at.circulate + 300, at.circulate + 420, still)(s) ?? s),
    },
    'water-stood',
    '2 stops, 6 min in all, 4 min the longest, and nobody told that the pump was off.',
  ],
  [
    'circulation-short',
    'warm for ten minutes only',
    { sample: during(at.circulate, at.rinse - 600, (s) => ({ ...s, returnC: 45 })) },
    'circulation-short',
    '20 min are asked for',
  ],
  [
    'circulation-out-of-band',
    'hardly any flow',
    { sample: during(at.circulate, at.rinse - 600, (s) => ({ ...s, flowLpm: 2 })) },
    'circulation-out-of-band:flowLpm',
    'Flow was out of its band for 13 min of 23 min',
  ],
  [
    'rinse-above-mains',
    'ended dirty',
    { sample: during(at.rinse, at.after, (s) => ({ ...s, turbidityNtu: 9 + (s.turbidityNtu ?? 0) })) },
    'rinse-above-mains',
    'limit 2.5',
  ],
  [
    'rinse-above-mains',
    'ended dirty by what the eye read, on a rig without turbidity',
    {
      sample: (s) => ({ ...s, turbidityNtu: null }),
      events: plus(event(at.after - 10, 'typed', { data: { what: 'rinse-ntu', value: 12 } })),
    },
    'rinse-above-mains',
    'turbidity 12 NTU (limit 5.5)',
  ],
  [
    'rinse-brief',
    'seen for the last seconds only',
    {
      sample: during(at.rinse, at.after - 8, (s) => ({ ...s, turbidityNtu: null, conductivityUsCm: null })),
    },
    'rinse-brief',
    'under its limits when it was ended, but had not stood there for long enough. It ended at turbidity 0.6 NTU (limit 2.5)',
  ],
  [
    'rinse-untold',
    'turbidity unplugged in the rinse',
    { sample: during(at.rinse + 20, at.end + 1, (s) => ({ ...s, turbidityNtu: null })) },
    'rinse-untold',
    'the turbidity sensor sent nothing',
  ],
  [
    'cleaner-remaining',
    'rinse cut short',
    { sample: during(at.rinse, at.after, (s) => ({ ...s, conductivityUsCm: 650 })) },
    'cleaner-remaining',
    '% of the cleaner was still in the water; 20 % at most',
  ],
  [
    'cleaner-remaining',
    'the test after the rinse tells of more than the rinse did',
    { events: plus(event(at.after + 25, 'sample', { data: { water: 'after', conductivity: 600 } })) },
    'cleaner-remaining',
    '% of the cleaner was still in the water; 20 % at most',
  ],
  [
    'inhibitor-missing',
    'none recorded',
    { events: without((e) => e.event === 'dose' && e.data?.['what'] === 'inhibitor') },
    'inhibitor-missing',
    'No inhibitor',
  ],
  [
    'overdose',
    'a comma slipped',
    {
      events: (all) =>
        all.map((e) =>
          e.event === 'dose' && e.data?.['what'] === 'cleaner' ? { ...e, data: { ...e.data, litres: 3.5 } } : e,
        ),
    },
    'overdose:cleaner',
    '3.50 l of cleaner added',
  ],
  [
    'inhibitor-weak',
    'a third of the dose',
    {
      events: (all) =>
        all.map((e) =>
          e.event === 'dose' && e.data?.['what'] === 'inhibitor' ? { ...e, data: { ...e.data, litres: 0.1 } } : e,
        ),
    },
    'inhibitor-weak',
    '90 % at least',
  ],
  [
    'pressure-out-of-band',
    'near the relief valve',
    { sample: during(1500, 1530, (s) => ({ ...s, pressureBar: 2.8 })) },
    'pressure-out-of-band:high',
    'over 2.5 bar for 30 s; highest 2.80',
  ],
  [
    'pressure-out-of-band',
    'hardly any left',
    { sample: during(1500, 1530, (s) => ({ ...s, pressureBar: 0.1 })) },
    'pressure-out-of-band:low',
    'under 0.3 bar for 30 s',
  ],
  [
    'temperature-out-of-band',
    'too hot for hoses',
    { sample: during(3000, 3040, (s) => ({ ...s, supplyC: 88 })) },
    'temperature-out-of-band:supply/hoses',
    'Supply over 80 °C for 40 s; highest 88',
  ],
  [
    'temperature-out-of-band',
    'too hot for hands',
    { sample: during(1500, 1540, (s) => ({ ...s, returnC: 65 })) },
    'temperature-out-of-band:return/hands',
    'while somebody worked at the water',
  ],
  [
    'chamber-full',
    'flow sinks while the background climbs',
    {
      sample: during(at.kitchen, at.shut, (s) => {
        const share = (s.timeS - at.kitchen) / (at.shut - at.kitchen);
        return { ...s, flowLpm: 12 - 8 * share, turbidityNtu: (s.turbidityNtu ?? 0) + 60 * share };
      }),
    },
    'chamber-full',
    'the capture chamber is full',
  ],
  [
    'not-handed-over',
    'nobody signed',
    { events: without((e) => e.event === 'hand-over') },
    'not-handed-over',
    'without a name',
  ],
  ['not-sealed', 'no seal', { record: { seal: null } }, 'not-sealed', 'not sealed'],
  [
    'not-sealed',
    'the seal that the record tells of was taken away',
    {
      events: (all) => [
        // Sealed as it stood: by the stages alone the run would be under way.
        ...all.filter((e) => e.event !== 'stage:end' && e.event !== 'hand-over'),
        event(at.end, 'seal', { data: { by: 'A. Engineer', key: '0011 2233' } }),
      ],
      record: { seal: null },
    },
    'not-sealed',
    'A. Engineer sealed this record on 2026-05-06 09:26 UTC with the key 0011 2233. The sealed copy is not here',
  ],
];
