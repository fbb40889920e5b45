import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { emptySample, type Sample } from '../../src/core/quantity/sample.ts';
import type { NewEvent, RunHead, Store } from '../../src/store/store.ts';

export function headOf(runId: string): RunHead {
  return {
    runId,
    title: 'Millrace Cottage',
    simulated: true,
    startedAt: '2026-03-02T08:00:00.000Z',
    context: {
      emitters: [
        { id: 'hall', name: 'Hall', volume_l: 6.5 },
        { id: 'loft', name: 'Löft, east', volume_l: 4, path_l: 7.25 },
      ],
      loop_volume_l: 80,
      return_volume_l: 9,
      mains: { turbidity_ntu: 0.3, conductivity_us_cm: 310 },
      sample_hz: 10,
      note_of_survey: ['kept', 1],
    },
  };
}

export function sampleAt(timeS: number, turbidityNtu: number | null = timeS * 3): Sample {
  return { ...emptySample(timeS), turbidityNtu, flowLpm: 12.5 };
}

export function eventOf(id: string, timeS = 1, event = 'agitate-end'): NewEvent {
  return {
    id,
    event: { timeS, event, emitter: 'hall', note: '' },
    who: 'loopback',
    wallAt: '2026-03-02T08:00:01.000Z',
  };
}

/** What every store must do. `open` opens the same place again and again; `fresh` forgets what was there. */
export function storeContract(name: string, place: { fresh(): void; open(): Store }): void {
  describe(`store contract: ${name}`, () => {
    let store: Store;
    const reopen = (): void => {
      store.close();
      store = place.open();
    };
    const run = () => {
      const found = store.openRun('r1');
      if (!found) throw new Error('run r1 is gone');
      return found;
    };
    beforeEach(() => {
      place.fresh();
      store = place.open();
      store.createRun(headOf('r1'));
    });
    afterEach(() => store.close());

    test('a run is found again with its head', () => {
      reopen();
      expect(store.runs()).toEqual([headOf('r1')]);
      expect(run().head).toEqual(headOf('r1'));
      expect(store.openRun('other')).toBeNull();
    });

    test('a second run of the same id is refused', () => {
      expect(() => store.createRun(headOf('r1'))).toThrow(expect.objectContaining({ code: 'store-run-exists' }));
    });

    test('an event acknowledged is there after reopening, chained to the one before', () => {
      const a = run().appendEvent(eventOf('a')).stored;
      const b = run().appendEvent(eventOf('b', 2)).stored;
      expect(b.prevHash).toBe(a.hash);
      reopen();
      expect(run().events()).toEqual([a, b]);
      expect(run().appendEvent(eventOf('c', 3)).stored).toMatchObject({ index: 2, prevHash: b.hash });
    });

    test('late samples are kept beside the others, in the order of coming, under the chain', () => {
      run().appendSample(sampleAt(100));
      for (const timeS of [40, 41, 20]) run().appendLate(sampleAt(timeS));
      expect(
        run()
          .late(30, 41)
          .map((s) => s.timeS),
      ).toEqual([40, 41]);
      run().keepSamples();
      run().appendLate(sampleAt(60));
      const before = [...run().samples()];
      reopen();
      expect(
        run()
          .late()
          .map((s) => s.timeS),
      ).toEqual([40, 41, 20, 60]);
      expect(run().late(50, 70)).toEqual([sampleAt(60)]);
      expect([...run().samples()]).toEqual(before);
      expect(run().lastTimeS()).toBe(100);
      const kept = run()
        .events()
        .map((e) => e.event.data);
      expect(kept.map((d) => [d?.['chunk'], d?.['fromS'], d?.['toS'], d?.['count']])).toEqual([
        [0, 100, 100, 1],
        [-1, 20, 41, 3],
        [-2, 60, 60, 1],
      ]);
      run().appendSample(sampleAt(101));
      run().keepSamples();
      expect(run().events().at(-1)?.event.data).toMatchObject({ chunk: 1, fromS: 101 });
    });

    test('an event of a known id is the same event, also after reopening', () => {
      const { stored } = run().appendEvent(eventOf('a'));
      expect(run().appendEvent(eventOf('a'))).toEqual({ stored, doubled: true });
      reopen();
      expect(run().appendEvent(eventOf('a', 9))).toEqual({ stored, doubled: true });
      expect(run().events()).toHaveLength(1);
    });

    test('samples are read back, buffered or flushed or reopened, nulls included', () => {
      const samples = [sampleAt(0.1), sampleAt(0.2, null), sampleAt(0.3)];
      for (const s of samples) run().appendSample(s);
      expect([...run().samples()]).toEqual(samples);
      run().flush();
      run().appendSample(sampleAt(0.4));
      expect([...run().samples()]).toEqual([...samples, sampleAt(0.4)]);
      reopen();
      expect([...run().samples()]).toEqual([...samples, sampleAt(0.4)]);
    });

    test('a span of samples holds both its ends, over chunks and tail', () => {
      for (let i = 0; i < 2000; i++) run().appendSample(sampleAt(i / 10));
      run().flush();
      for (let i = 2000; i < 2050; i++) run().appendSample(sampleAt(i / 10));
      run().flush();
      const span = [...run().samples(59.9, 201.3)];
      expect(span[0]?.timeS).toBe(59.9);
      expect(span.at(-1)?.timeS).toBe(201.3);
      expect(span).toHaveLength(1415);
    });

    test('reading while samples come gives what was there when it began', () => {
      for (let i = 0; i < 700; i++) run().appendSample(sampleAt(i / 10));
      const reading = run().samples()[Symbol.iterator]();
      expect(reading.next().value).toEqual(sampleAt(0));
      for (let i = 700; i < 1500; i++) run().appendSample(sampleAt(i / 10));
      run().flush();
      let count = 1;
      while (!reading.next().done) count++;
      expect(count).toBe(700);
    });

    test('time that stands still or goes back, and what is no number, is refused and not kept', () => {
      run().appendSample(sampleAt(5));
      for (const bad of [sampleAt(5), sampleAt(4.9)])
        expect(() => run().appendSample(bad)).toThrow(expect.objectContaining({ code: 'store-sample-order' }));
      for (const bad of [sampleAt(6, Number.NaN), sampleAt(6, Infinity), sampleAt(Number.NaN)])
        expect(() => run().appendSample(bad)).toThrow(expect.objectContaining({ code: 'store-sample-number' }));
      expect([...run().samples()]).toEqual([sampleAt(5)]);
    });

    test('the last time is that of the newest sample or event', () => {
      expect(run().lastTimeS()).toBe(0);
      run().appendSample(sampleAt(5));
      expect(run().lastTimeS()).toBe(5);
      run().appendEvent(eventOf('a', 7.5));
      reopen();
      expect(run().lastTimeS()).toBe(7.5);
    });

    test('the run under way is remembered, and forgotten when it is over', () => {
      expect(store.currentRunId()).toBeNull();
      store.setCurrentRun('r1');
      reopen();
      expect(store.currentRunId()).toBe('r1');
      store.setCurrentRun(null);
      reopen();
      expect(store.currentRunId()).toBeNull();
    });
  });
}
