import { beforeEach, describe, expect, it, vi } from 'vitest';
import { createLastView } from '../../../dashboards/rig/last-view.ts';
import { createFakeBridge } from '../../src/server/fake-bridge.ts';

const kept = new Map<string, string>();
beforeEach(() => {
  kept.clear();
  vi.stubGlobal('localStorage', {
    getItem: (key: string) => kept.get(key) ?? null,
    setItem: (key: string, text: string) => void kept.set(key, text),
    removeItem: (key: string) => void kept.delete(key),
  });
});

const viewAt = (seconds: number) => {
  const bridge = createFakeBridge();
  bridge.play(seconds);
  return bridge.view();
};

describe('the last view that a page keeps', () => {
  it('is written at once and then not more often than each 3 s, the newest when the page goes', () => {
    let nowMs = 1000;
    const last = createLastView(() => nowMs);
    last.keep(viewAt(1));
    expect(last.load()?.view.timeS).toBe(1);
    nowMs = 2000;
    last.keep(viewAt(2));
    expect(last.load()?.view.timeS).toBe(1);
    last.flush();
    expect(last.load()).toMatchObject({ heardMs: 2000, view: { timeS: 2 } });
  });

  it('is not shown after a day, nor when it is of another make of page', () => {
    let nowMs = 1000;
    const last = createLastView(() => nowMs);
    last.keep(viewAt(1));
    nowMs += 86_400_001;
    expect(last.load()).toBeNull();
    kept.set('limpid-last-view', '{"heardMs":1,"view":{"runId":"x"}}');
    expect(last.load()).toBeNull();
    kept.set('limpid-last-view', 'torn');
    expect(last.load()).toBeNull();
  });
});
