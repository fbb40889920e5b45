import { Random } from '../../simulators/random.ts';
import type { Sample } from '../../src/core/quantity/sample.ts';
import type { Store } from '../../src/store/store.ts';

/** A long run on all channels, for benchmarks and tests of large data. Invented. */
export const longHours = 8;
export const longContext = {
  emitters: [{ id: 'e1', name: 'Hall', volume_l: 8 }],
  loop_volume_l: 90,
  return_volume_l: 6,
  mains: { turbidity_ntu: 0.5, conductivity_us_cm: 400 },
  sample_hz: 10,
};

/** Eight hours of plausible traces with pulses and noise. */
function* longRun(): Iterable<Sample> {
  const random = new Random('long');
  let excess = 0;
  for (let i = 0; i < longHours * 36_000; i++) {
    if (i % 3700 === 0) excess = 300 + 900 * random.uniform();
    excess *= 0.9985;
    const noise = (): number => random.uniform() - 0.5;
    const round = (value: number): number => Math.round(value * 1e4) / 1e4;
    yield {
      timeS: i / 10,
      turbidityNtu: round(6 + excess + noise()),
      turbidityOutNtu: round(3 + 0.2 * excess + noise()),
      flowLpm: round(9 + noise()),
      pressureBar: round(1.1 + 0.05 * noise()),
      supplyC: round(52 + Math.sin(i / 9000) + 0.3 * noise()),
      returnC: round(44 + Math.sin(i / 9000) + 0.3 * noise()),
      conductivityUsCm: round(900 + 40 * noise()),
    };
  }
}

export function keepLong(store: Store): void {
  const run = store.createRun({
    runId: 'long',
    title: 'Eight hours',
    simulated: true,
    startedAt: '2026-01-02T03:04:05.000Z',
    context: longContext,
  });
  const tell = (timeS: number, event: string): void =>
    void run.appendEvent({
      id: `${event}-${timeS}`,
      event: { timeS, event, emitter: event.startsWith('stage') ? '' : 'e1', note: '' },
      who: 'loopback',
      wallAt: '',
    });
  tell(0, 'stage:emitters');
  let n = 0;
  for (const sample of longRun()) {
    if (n % 36_000 === 0) tell(sample.timeS, 'emitter-open');
    if (n % 36_000 === 30_000) tell(sample.timeS, 'emitter-shut');
    run.appendSample(sample);
    n += 1;
    if (n % 6000 === 0) run.flush();
  }
  tell(n / 10, 'stage:end');
  run.keepSamples();
}
