import { expect, test } from 'vitest';
import { Calibration } from '../../../src/run/calibration.ts';
import { KitRecord } from '../../../src/run/kit-record.ts';

const kit = 'urn:dev:mac:02000000000000aa';
const event = (name: string, data: Record<string, string | number>) => ({
  timeS: 1,
  event: name,
  emitter: '',
  note: '',
  data,
});

test('a record knows whose readings it holds, although its kit never said hello', () => {
  const calibration = new Calibration({ certificates: () => [] });
  const first = new KitRecord(calibration);
  expect(first.measuredBy).toBeNull();
  const [told = {}] = first.calibrated(kit, 0, '2026-01-02T03:04:05Z');
  const again = new KitRecord(calibration);
  again.remember(event('calibrated', { ...told, kit }));
  expect(again.measuredBy).toBe(kit);
  again.remember(event('kit-hello', { kit: `${kit}b`, firmware: '1' }));
  expect(again.measuredBy).toBe(`${kit}b`);
});

test('starts are told at once, then once a minute with their number', () => {
  const record = new KitRecord(undefined);
  expect(record.takeRestarts(0)).toBeNull();
  record.restarted(kit, 2);
  expect(record.takeRestarts(1)).toEqual({ kit, boot: 2 });
  for (let boot = 3; boot < 203; boot++) record.restarted(kit, boot);
  expect(record.takeRestarts(60)).toBeNull();
  expect(record.takeRestarts(61)).toEqual({ kit, boot: 202, restarts: 200 });
  expect(record.takeRestarts(200)).toBeNull();
});
