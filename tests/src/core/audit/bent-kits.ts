import { type Bend, during, event, kit, plus, without } from './job-by-the-book.ts';

/** Readings, certificates, kit and clock as they should not be. */
export const bentKits: readonly Bend[] = [
  [
    'data-gap',
    'a minute without readings',
    { sample: during(1200, 1260, () => null) },
    'data-gap',
    '1 gap, 61 s in all',
  ],
  [
    'sensor-fault',
    'a reading that does not move',
    { sample: during(1300, 1500, (s) => ({ ...s, turbidityNtu: 8.01 })) },
    'sensor-fault:stuck',
    'the turbidity reading did not move',
  ],
  [
    'over-range',
    'a converter that ends at 100 NTU',
    {
      events: (all) =>
        all.map((e) => (e.event === 'calibrated' ? { ...e, data: { ...e.data, hi: 100, step: 0.01 } } : e)),
      sample: (s) => ({ ...s, turbidityNtu: Math.min(100, 8 + 10 * ((s.turbidityNtu ?? 0) - 8)) }),
    },
    'over-range',
    'over the range',
  ],
  [
    'calibration-missing',
    'nobody calibrated it',
    { events: without((e) => e.event === 'calibrated') },
    'calibration-missing',
    'no certificate',
  ],
  [
    'calibration-overdue',
    'due five days before',
    {
      events: (all) =>
        all.map((e) => (e.event === 'calibrated' ? { ...e, data: { ...e.data, due: '2026-05-01' } } : e)),
    },
    'calibration-overdue:turbidity/e2',
    'due 2026-05-01, 5 days before',
  ],
  [
    'kit-changed',
    'another kit',
    { events: plus(event(2000, 'kit-hello', { data: { kit: 'urn:dev:mac:02', firmware: '1.2.0' } })) },
    'kit-changed:e28',
    `The kit was ${kit}, then urn:dev:mac:02.`,
  ],
  [
    'kit-restarted',
    'the bridge was restarted',
    {
      events: plus(event(2000, 'note', { note: 'The bridge was restarted.' })),
      who: (e) => (e.note === 'The bridge was restarted.' ? 'bridge' : 'device-1'),
    },
    'kit-restarted',
    'Restarted once',
  ],
  [
    'kit-restarted',
    'the kit began anew twice',
    {
      events: plus(
        event(2000, 'kit-restart', { data: { kit, boot: 8 } }),
        event(2100, 'kit-restart', { data: { kit, boot: 9 } }),
      ),
    },
    'kit-restarted',
    'Restarted 2 times',
  ],
  [
    'kit-restarted',
    'a loose contact, told once a minute',
    {
      events: plus(
        event(2000, 'kit-restart', { data: { kit, boot: 8 } }),
        event(2060, 'kit-restart', { data: { kit, boot: 208, restarts: 200 } }),
      ),
    },
    'kit-restarted',
    'Restarted 201 times',
  ],
  [
    'clock-changed',
    'the clock set an hour ahead',
    { wallOff: (t) => (t > 2500 ? 3600 : 0) },
    'clock-changed:2510',
    'The clock went forward by 60 min',
  ],
];
