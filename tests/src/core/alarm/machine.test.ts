import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { type Life, type LifeInput, lifeTable } from '../../../../src/core/alarm/life.ts';
import { alarmList } from '../../../../src/core/alarm/list.ts';
import { type AlarmInput, type AlarmState, alarmStep, quietAlarms } from '../../../../src/core/alarm/machine.ts';
import { measureAlarms } from '../../../../src/core/alarm/measure.ts';
import { type AlarmKind, alarmKinds, alarmRules } from '../../../../src/core/alarm/rules.ts';
import { messageCodes, say } from '../../../../src/core/message/message.ts';

/** Runs the machine on a clock of its own, one look a second. */
class Bench {
  state: AlarmState = quietAlarms;
  atS = 0;
  sounds: string[] = [];
  rises: string[] = [];

  run(seconds: number, ...on: readonly AlarmKind[]): this {
    for (let i = 0; i < seconds; i++) {
      this.atS++;
      const conditions = Object.fromEntries(
        alarmKinds.map((k) => [k, { isOn: on.includes(k), figures: { at: this.atS }, because: '' }]),
      );
      this.take({ type: 'look', atS: this.atS, conditions });
    }
    return this;
  }

  take(input: AlarmInput): string | null {
    const step = alarmStep(this.state, input);
    this.state = step.state;
    this.sounds.push(...step.sounds.map((k) => `${this.atS} ${k}`));
    this.rises.push(...step.rises.map((k) => `${this.atS} ${k}`));
    return step.refusal?.code ?? null;
  }

  acknowledge(kind: AlarmKind): this {
    this.take({ type: 'acknowledge', atS: this.atS, kind });
    return this;
  }

  get listed(): string {
    const list = alarmList(this.state);
    return list.shown.map((a) => a.kind).join(' ') + (list.more > 0 ? ` +${list.more}` : '');
  }

  life(kind: AlarmKind): Life {
    return this.state.entries[kind].life;
  }
}

describe('life of an alarm', () => {
  it('is this table', () => {
    const rows = Object.entries(lifeTable).map(([life, row]) => {
      const cell = (i: LifeInput): string => `${row[i].to}${row[i].sounds ? '!' : ''}`;
      return `${life}: ${cell('rise')} ${cell('fall')} ${cell('acknowledge')}`;
    });
    expect(rows).toEqual([
      'normal: unacked! normal normal',
      'unacked: unacked returned acked',
      'acked: acked normal acked',
      'returned: unacked! returned normal',
    ]);
  });

  it('waits its on-delay, sounds once, and goes quietly after its off-delay', () => {
    const b = new Bench().run(5, 'no-flow');
    expect(b.sounds).toEqual([]);
    b.run(1, 'no-flow');
    expect(b.sounds).toEqual(['6 no-flow']);
    b.run(60, 'no-flow').acknowledge('no-flow').run(10);
    expect(b.life('no-flow')).toBe('acked');
    b.run(1);
    expect(b.life('no-flow')).toBe('normal');
    expect(b.sounds).toEqual(['6 no-flow']);
  });

  it('stays on the list when it went before anyone saw it', () => {
    const b = new Bench().run(10, 'too-hot').run(30);
    expect(b.life('too-hot')).toBe('returned');
    expect(b.listed).toBe('too-hot');
    expect(b.acknowledge('too-hot').listed).toBe('');
  });

  it('does not chatter: what comes and goes faster than its delays is never told', () => {
    const b = new Bench();
    for (let i = 0; i < 100; i++) b.run(3, 'no-flow').run(3);
    expect(b.rises).toEqual([]);
  });

  it('what repeats is latched as one after three times in a minute, until a minute of quiet', () => {
    const b = new Bench();
    for (let i = 0; i < 20; i++) b.run(3, 'pressure-high').run(11).acknowledge('pressure-high');
    // Raised every fourteen seconds: three, and the fourth that latches; then silence.
    expect(b.rises).toHaveLength(4);
    expect(b.state.entries['pressure-high'].isChattering).toBe(true);
    expect(b.listed).toBe('pressure-high');
    b.run(70);
    expect(b.state.entries['pressure-high'].isChattering).toBe(false);
    expect(b.listed).toBe('');
    expect(b.run(10, 'pressure-high').rises).toHaveLength(5);
  });

  it('one that cannot be seen to end ends when it is acknowledged', () => {
    const b = new Bench().run(2, 'leak').acknowledge('leak');
    expect(b.listed).toBe('');
    expect(b.run(5).listed).toBe('');
    expect(b.run(2, 'leak').sounds).toHaveLength(2);
  });

  it('holds through what cannot be seen', () => {
    const b = new Bench().run(10, 'too-hot');
    for (let i = 0; i < 100; i++) {
      b.atS++;
      b.take({ type: 'look', atS: b.atS, conditions: { 'too-hot': { isOn: null, figures: {}, because: '' } } });
    }
    expect(b.state.entries['too-hot'].isOn).toBe(true);
    expect(b.run(11).life('too-hot')).toBe('returned');
  });
});

describe('one cause, one alarm', () => {
  it('a silent kit holds back all that follows from it', () => {
    const b = new Bench().run(30, 'kit-silent', 'sensor', 'no-flow', 'never-clears');
    expect(b.rises).toEqual(['4 kit-silent']);
    expect(b.listed).toBe('kit-silent');
  });

  it('what was there before its cause is hidden while the cause stands, and not told again after', () => {
    const b = new Bench().run(10, 'no-flow').run(10, 'no-flow', 'mains-lost');
    expect(b.listed).toBe('mains-lost');
    b.run(11, 'no-flow');
    expect(b.listed).toContain('no-flow');
    expect(b.rises.filter((r) => r.endsWith('no-flow'))).toHaveLength(1);
  });

  it('what outlives its cause is told after its own delay', () => {
    const b = new Bench().run(20, 'kit-silent', 'too-hot').run(10, 'too-hot');
    expect(b.rises).toEqual(['4 kit-silent']);
    b.run(7, 'too-hot');
    expect(b.rises).toEqual(['4 kit-silent', expect.stringMatching(/too-hot/)]);
  });

  it('no kind explains itself, however far round', () => {
    const reach = (kind: AlarmKind, seen: Set<AlarmKind>): Set<AlarmKind> => {
      for (const c of alarmRules.find((r) => r.kind === kind)?.causes ?? []) if (!seen.has(c)) reach(c, seen.add(c));
      return seen;
    };
    for (const kind of alarmKinds) expect(reach(kind, new Set()).has(kind)).toBe(false);
  });
});

describe('hands on alarms', () => {
  it('shelves for 5, 15 or 30 minutes, never an urgent one, and tells it again at the end if it stands', () => {
    const b = new Bench().run(10, 'chamber-full');
    const shelve = (kind: AlarmKind, minutes: number): string | null =>
      b.take({ type: 'shelve', atS: b.atS, kind, minutes });
    expect(shelve('chamber-full', 60)).toBe('shelve-minutes');
    expect(shelve('pressure-high', 5)).toBe('shelve-urgent');
    expect(shelve('chamber-full', 5)).toBeNull();
    b.run(298, 'chamber-full');
    expect(b.listed).toBe('');
    expect(alarmList(b.state).shelved).toEqual([{ kind: 'chamber-full', untilS: 310 }]);
    expect(b.sounds).toHaveLength(1);
    b.run(3, 'chamber-full');
    expect(b.listed).toBe('chamber-full');
    expect(b.sounds).toEqual(['1 chamber-full', '310 chamber-full']);
  });

  it('a shelf that ends over quiet says nothing; one taken back early ends at once', () => {
    const b = new Bench().run(2, 'chamber-full');
    b.take({ type: 'shelve', atS: b.atS, kind: 'chamber-full', minutes: 5 });
    b.run(400);
    expect(b.sounds).toHaveLength(1);
    const c = new Bench().run(2, 'chamber-full');
    c.take({ type: 'shelve', atS: c.atS, kind: 'chamber-full', minutes: 30 });
    c.run(5, 'chamber-full').take({ type: 'unshelve', atS: c.atS, kind: 'chamber-full' });
    expect(c.run(1, 'chamber-full').listed).toBe('chamber-full');
  });

  it('silence lasts until something new rises', () => {
    const b = new Bench().run(10, 'no-flow');
    b.take({ type: 'silence', atS: b.atS });
    expect(b.run(20, 'no-flow').state.isSilenced).toBe(true);
    expect(b.run(10, 'no-flow', 'too-hot').state.isSilenced).toBe(false);
  });

  it('the first of a burst stays on top until it is handled', () => {
    const b = new Bench().run(10, 'two-open').run(10, 'two-open', 'pressure-high', 'too-hot');
    expect(b.listed).toBe('two-open pressure-high too-hot');
    b.acknowledge('two-open').run(1, 'pressure-high', 'too-hot');
    expect(b.state.firstUp).toBe('pressure-high');
    expect(b.listed).toBe('pressure-high too-hot');
  });

  it('lists at most three, counts the rest, and an urgent one is always among them', () => {
    fc.assert(
      fc.property(fc.shuffledSubarray([...alarmKinds]), (kinds) => {
        const b = new Bench();
        const on: AlarmKind[] = [];
        for (const k of kinds) b.run(7, ...on, (on.push(k), k));
        const list = alarmList(b.state);
        expect(list.shown.length).toBeLessThanOrEqual(3);
        const hidden = alarmRules.filter((r) => r.causes.some((c) => b.state.entries[c].isOn)).map((r) => r.kind);
        const isDue = kinds.includes('pressure-high') && !hidden.includes('pressure-high');
        expect(list.shown.some((a) => a.kind === 'pressure-high')).toBe(isDue);
      }),
    );
  });

  it('is plain data: kept as JSON and read again, it goes on where it was', () => {
    const b = new Bench().run(10, 'no-flow').acknowledge('no-flow');
    const read: unknown = JSON.parse(JSON.stringify(b.state));
    expect(read).toEqual(b.state);
  });
});

describe('rules', () => {
  it('are twelve kinds at most in three priorities, most of them plain, few urgent', () => {
    expect(alarmKinds.length).toBeLessThanOrEqual(12);
    const share = (p: string): number => alarmRules.filter((r) => r.priority === p).length / alarmRules.length;
    expect(share('plain')).toBeGreaterThanOrEqual(0.6);
    expect(share('urgent')).toBeLessThanOrEqual(0.1);
    expect(alarmRules.map((r) => r.kind).sort()).toEqual([...alarmKinds].sort());
  });

  it('each has words for what it is, what to do, and what happens if not', () => {
    const figures = { value: 1, limit: 2, passes: 3, barPerMin: 0.1, flowLpm: 4, aloneLpm: 2, ntuPerMin: 5 };
    for (const kind of alarmKinds) {
      for (const part of ['', '-do', '-else']) {
        expect(messageCodes).toContain(`alarm-${kind}${part}`);
        expect(say({ code: `alarm-${kind}${part}`, params: figures })).not.toContain('NaN');
      }
    }
  });
});

describe('measure', () => {
  it('alarms an hour, and the worst ten minutes', () => {
    expect(measureAlarms([], 0, 3600)).toEqual({ total: 0, perHour: 0, worstTenMinutes: 0 });
    expect(measureAlarms([0, 100, 599, 600, 5000], 0, 7200)).toEqual({ total: 5, perHour: 2.5, worstTenMinutes: 3 });
    expect(measureAlarms([1], 5, 5).perHour).toBe(0);
  });
});
