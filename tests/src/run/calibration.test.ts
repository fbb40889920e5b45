import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { calibrate, type Certificate, certificateSchema } from '../../../firmware-bridge/calibration/certificate.ts';
import { encodeLine } from '../../../firmware-bridge/wire/encode.ts';
import { createAnalysis } from '../../../src/core/analyse.ts';
import { exportRun, readRecording } from '../../../src/recording/recording.ts';
import { Calibration } from '../../../src/run/calibration.ts';
import { Run } from '../../../src/run/run.ts';
import { openStore } from '../../../src/store/open.ts';
import type { RunStore, Store } from '../../../src/store/store.ts';
import { context, head } from '../core/job/job-cases.ts';
import { SteppedClock } from './stepped-clock.ts';

const kit = 'urn:dev:mac:0024befffe804ff1';

function certificate(channel: string, number: number, more: Partial<Certificate> = {}): Certificate {
  return certificateSchema.parse({
    v: 1,
    id: `${channel}-0024befffe804ff1-${number}`,
    kit,
    channel,
    unit: 'NTU',
    input: 'raw',
    madeAt: '2026-01-01T00:00:00.000Z',
    dueAt: '2027-01-01T00:00:00.000Z',
    who: 'A. Bench',
    standards: [],
    // 800 NTU a volt from 0.6 V.
    curve: { kind: 'line', a: -480, b: 800, covariance: [1, 0, 1], fromRaw: 0.6, toRaw: 2 },
    residuals: [],
    blankSd: 0.4,
    step: 3.9,
    hi: 3360,
    atC: 20,
    ...more,
  });
}

let folder = '';
let store: Store;
let runStore: RunStore;
let clock: SteppedClock;
let run: Run;
let seq = 0;

function begin(): void {
  clock = new SteppedClock();
  runStore = store.openRun('r1') ?? store.createRun(head);
  const fault = (error: unknown): void => {
    throw error;
  };
  run = new Run({
    store: runStore,
    clock,
    createAnalysis,
    source: 'a kit',
    calibration: new Calibration(store),
    fault,
  });
}

function send(seconds: number, volts: number, more: { kit?: string } = {}): void {
  for (let i = 0; i < seconds * 10; i++) {
    seq += 1;
    const values = { turbidityNtu: (volts - 0.5) * 1000, flowLpm: 10 };
    run.bytes(
      encodeLine({ kit: more.kit ?? kit, boot: 1, seq, upS: seq / 10, values, raw: { turbidity: volts } }),
      clock.nowS(),
    );
    clock.run(0.1);
  }
}

const told = () => runStore.events().filter((e) => e.event.event === 'calibrated');
const keep = (c: Certificate): void => store.addCertificate({ id: c.id, kit: c.kit, body: JSON.stringify(c) });

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'limpid-calibration-'));
  store = openStore(folder);
  seq = 0;
});
afterEach(() => {
  run.stop();
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('calibration in use', () => {
  it('takes the kit own value where there is no certificate, and says so in the record and on the page', () => {
    begin();
    send(2, 1);
    expect([...runStore.samples()].every((s) => s.turbidityNtu === 500)).toBe(true);
    expect(told().map((e) => e.event.data)).toMatchObject([{ channel: 'turbidity', certificate: '', state: 'none' }]);
    expect(run.view().notices.map((n) => n.text)).toEqual([
      'Turbidity is not calibrated: the limit of detection is 3 x noise + one step. Calibrate it at the kit bench.',
    ]);
  });

  it('applies the newest certificate to the raw reading, and traces each reading to it', () => {
    keep(
      certificate('turbidity', 1, { curve: { kind: 'line', a: 0, b: 1, covariance: [0, 0, 0], fromRaw: 0, toRaw: 5 } }),
    );
    keep(certificate('turbidity', 2));
    begin();
    send(2, 1);
    const samples = [...runStore.samples()];
    expect(samples.map((s) => s.turbidityNtu)).toEqual(samples.map(() => 320));
    expect(samples.every((s) => s.flowLpm === 10)).toBe(true);
    expect(told().map((e) => e.event.data)).toMatchObject([
      {
        channel: 'turbidity',
        certificate: 'turbidity-0024befffe804ff1-2',
        state: 'valid',
        due: '2027-01-01',
        blankSd: 0.4,
        step: 3.9,
        hi: 3360,
        limitOfDetection: 3 * 0.4 + 3.9,
        fromS: samples[0]?.timeS,
      },
    ]);
    expect(run.view().notices).toEqual([]);
  });

  it('carries the whole certificate in an export, so that each reading can be worked out again without this bridge', () => {
    begin();
    send(1, 0.62);
    keep(certificate('turbidity', 1));
    run.recalibrated();
    send(1, 1);
    const steeper: Certificate['curve'] = {
      kind: 'line',
      a: -480,
      b: 900,
      covariance: [0, 0, 0],
      fromRaw: 0,
      toRaw: 5,
    };
    keep(certificate('turbidity', 2, { curve: steeper, madeAt: '2026-02-01T00:00:00.000Z' }));
    run.recalibrated();
    send(1, 1);
    exportRun(runStore, join(folder, 'out'));
    const record = readRecording(join(folder, 'out'));
    const sheets = (record.chain?.links ?? [])
      .filter((l) => l.event.event === 'calibrated' && l.event.data?.['channel'] === 'turbidity')
      .map(({ event: { data } }) => ({
        fromS: Number(data?.['fromS']),
        certificate: data?.['certificate'] === '' ? null : certificateSchema.parse(JSON.parse(String(data?.['sheet']))),
      }));
    expect(sheets.map((s) => s.certificate?.id ?? 'none')).toEqual([
      'none',
      'turbidity-0024befffe804ff1-1',
      'turbidity-0024befffe804ff1-2',
    ]);
    expect(record.samples).toHaveLength(30);
    for (const [i, sample] of record.samples.entries()) {
      const by = sheets.findLast((s) => s.fromS <= sample.timeS)?.certificate ?? null;
      const volts = i < 10 ? 0.62 : 1;
      expect(sample.turbidityNtu).toBeCloseTo(by ? calibrate(by, volts).value : (volts - 0.5) * 1000, 3);
    }
  });

  it('scales the kit own value where the certificate is for that', () => {
    keep(
      certificate('flow', 1, {
        input: 'kit',
        curve: { kind: 'line', a: 0, b: 1.05, covariance: [0, 0, 0], fromRaw: 1, toRaw: 30 },
      }),
    );
    begin();
    send(1, 1);
    expect([...runStore.samples()].map((s) => s.flowLpm)).toEqual(Array.from({ length: 10 }, () => 10.5));
  });

  it('still uses one that is overdue, and says it', () => {
    keep(certificate('turbidity', 1, { dueAt: '2026-01-02T00:00:00.000Z' }));
    begin();
    send(1, 1);
    expect([...runStore.samples()][0]?.turbidityNtu).toBe(320);
    expect(told()[0]?.event.data).toMatchObject({ state: 'overdue', due: '2026-01-02' });
    expect(run.view().notices[0]?.text).toContain('overdue');
  });

  it('leaves out what the curve puts outside of all that can be', () => {
    keep(
      certificate('turbidity', 1, {
        curve: { kind: 'line', a: -480, b: 80000, covariance: [0, 0, 0], fromRaw: 0, toRaw: 5 },
      }),
    );
    begin();
    send(1, 1);
    expect([...runStore.samples()].every((s) => s.turbidityNtu === null)).toBe(true);
  });

  it('goes by a certificate from the moment it was made, and tells nothing twice over a restart', () => {
    begin();
    send(1, 1);
    keep(certificate('turbidity', 1));
    run.recalibrated();
    send(1, 1);
    expect([...runStore.samples()].map((s) => s.turbidityNtu)).toEqual([
      ...Array.from({ length: 10 }, () => 500),
      ...Array.from({ length: 10 }, () => 320),
    ]);
    expect(told().map((e) => e.event.data?.['state'])).toEqual(['none', 'valid']);
    run.stop();
    begin();
    send(1, 1);
    expect(told()).toHaveLength(2);
  });

  it('tells anew when another kit leads', () => {
    keep(certificate('turbidity', 1));
    begin();
    send(1, 1);
    clock.run(11);
    send(1, 1, { kit: 'urn:dev:mac:0024befffe804ff2' });
    expect(told().map((e) => e.event.data?.['state'])).toEqual(['valid', 'none']);
  });
});

describe('the limit of detection', () => {
  /** Quiet water on a fine converter, then a pulse of 6 NTU: over 3 x noise, under 3 x blank + step. */
  it('comes from the certificate: no noise estimate goes below its blank', () => {
    const noiseOf = (data: Record<string, string | number> | undefined): number => {
      const analysis = createAnalysis(context);
      analysis.event({ timeS: 0, event: 'emitter-open', emitter: 'hall', note: '' });
      if (data) analysis.event({ timeS: 0.05, event: 'calibrated', emitter: '', note: '', data });
      const pulses = (): number => analysis.visits.flatMap((v) => v.pulses).length;
      for (let i = 1; i < 2400; i++) {
        const s = i / 10;
        const bump = s > 150 && s < 170 ? 6 : 0;
        analysis.sample({
          timeS: s,
          turbidityNtu: 10 + bump + 0.2 * Math.sin(i * 12.9898),
          turbidityOutNtu: null,
          flowLpm: 10,
          pressureBar: 1,
          supplyC: 40,
          returnC: 40,
          conductivityUsCm: null,
        });
      }
      return pulses();
    };
    const certified = { channel: 'turbidity', certificate: 'c', state: 'valid', step: 0.1 };
    expect(noiseOf(undefined)).toBe(1);
    expect(noiseOf({ ...certified, blankSd: 0.2 })).toBe(1);
    expect(noiseOf({ ...certified, blankSd: 8 })).toBe(0);
  });
});

describe('certificates in the store', () => {
  it('are kept over a restart, oldest first, and cannot be changed', () => {
    begin();
    keep(certificate('turbidity', 1));
    keep(certificate('flow', 1));
    expect(() => keep(certificate('turbidity', 1))).toThrow('never changed');
    run.stop();
    store.close();
    store = openStore(folder);
    begin();
    expect(store.certificates(kit).map((b) => certificateSchema.parse(JSON.parse(b)).id)).toEqual([
      'turbidity-0024befffe804ff1-1',
      'flow-0024befffe804ff1-1',
    ]);
    expect(store.certificates('urn:dev:mac:x')).toEqual([]);
    expect(store.certificates()).toHaveLength(2);
  });
});
