import { expect, test } from 'vitest';
import { WallClock } from '../../../firmware-bridge/clock/wall.ts';

test('a clock that is set by hand leaps once, and the past keeps its time', () => {
  const wall = new WallClock();
  expect(wall.unixAt(5)).toBeNull();
  expect(wall.note(0, 1.7e9)).toBeNull();
  expect(wall.note(10, 1.7e9 + 10)).toBeNull();
  expect(wall.note(20, 1.7e9 + 3620)).toEqual({ fromS: 20, offsetS: 1.7e9 + 3600 });
  expect(wall.unixAt(15)).toBe(1.7e9 + 15);
  expect(wall.unixAt(25)).toBe(1.7e9 + 3625);
  expect(wall.history).toHaveLength(2);
});

test('the slow pull of time keeping is followed without a remark', () => {
  const wall = new WallClock();
  for (let s = 0; s <= 36_000; s += 10) expect(wall.note(s, 1.7e9 + s * (1 + 50e-6))).toBeNull();
  expect(wall.history).toHaveLength(1);
  expect(wall.unixAt(36_000)).toBeCloseTo(1.7e9 + 36_001.8, 3);
});
