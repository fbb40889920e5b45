import { describe, expect, it } from 'vitest';
import { type AlarmLook, conditionsOf, freshMemory } from '../../../../src/core/alarm/conditions.ts';
import { alarmList } from '../../../../src/core/alarm/list.ts';
import { type AlarmKind, alarmKinds, alarmLimits } from '../../../../src/core/alarm/rules.ts';
import { freshAlarms, handleAlarm, limitsFor, watchAlarms } from '../../../../src/core/alarm/watch.ts';

const calm: AlarmLook = { atS: 0, sample: {}, verdict: null, remarks: [], events: [], visit: null };

/** Which conditions stand after these looks, one after the other. */
function standing(...looks: readonly Partial<AlarmLook>[]): readonly AlarmKind[] {
  let memory = freshMemory;
  let out: readonly AlarmKind[] = [];
  for (const look of looks) {
    const got = conditionsOf({ ...calm, ...look }, memory, alarmLimits);
    memory = got.memory;
    out = alarmKinds.filter((k) => got.conditions[k]?.isOn === true);
  }
  return out;
}
const remark = (code: string): Partial<AlarmLook> => ({ remarks: [{ code, figures: { flowLpm: 1 } }] });
const verdict = (code: string): Partial<AlarmLook> => ({ verdict: { code, figures: {} } });

describe('what the job can trouble with, line by line', () => {
  it('pump off, hose kinked, valve shut: until flow is back', () => {
    expect(standing(remark('flow-stopped'), {})).toEqual(['no-flow']);
    expect(standing(verdict('no-flow'))).toEqual(['no-flow']);
    expect(standing(remark('flow-stopped'), remark('flow-back'))).toEqual([]);
    expect(standing(remark('flow-stopped'), { events: ['stage:rinse'] })).toEqual([]);
  });

  it('lost and back within one look is back, whatever the order within', () => {
    const both = (...codes: string[]) => ({ remarks: codes.map((code) => ({ code, figures: {} })) });
    expect(standing(both('flow-stopped', 'flow-back'))).toEqual([]);
    expect(standing(both('flow-back', 'flow-stopped'))).toEqual(['no-flow']);
  });

  it('chamber full: until it was emptied', () => {
    expect(standing(remark('chamber-full'), { events: ['emitter-open'] })).toEqual(['chamber-full']);
    expect(standing(remark('chamber-full'), { events: ['chamber-emptied'] })).toEqual([]);
  });

  it('leak, filling loop, two open: until the pipes are touched', () => {
    expect(standing(remark('leak'))).toEqual(['leak']);
    expect(standing(remark('filling-loop-open'))).toEqual(['filling-loop']);
    expect(standing(remark('two-open'))).toEqual(['two-open']);
    expect(standing(remark('two-open'), { events: ['emitter-shut'] })).toEqual([]);
  });

  it('too hot and pressure near the relief valve: over the limit, and off again under the dead band', () => {
    expect(standing({ sample: { returnC: 76 } })).toEqual(['too-hot']);
    expect(standing({ sample: { supplyC: 80, returnC: 60 } })).toEqual(['too-hot']);
    expect(standing({ sample: { returnC: 76 } }, { sample: { returnC: 73 } })).toEqual(['too-hot']);
    expect(standing({ sample: { returnC: 76 } }, { sample: { returnC: 70 } })).toEqual([]);
    expect(standing({ sample: { returnC: 73 } })).toEqual([]);
    expect(standing({ sample: { pressureBar: 2.6 } })).toEqual(['pressure-high']);
  });

  it('a value that is not there leaves the matter open; without a limit there is none', () => {
    const got = conditionsOf({ ...calm, sample: { pressureBar: null } }, freshMemory, alarmLimits);
    expect(got.conditions['pressure-high']?.isOn).toBeNull();
    const vented = conditionsOf({ ...calm, sample: { pressureBar: 2.9 } }, freshMemory, limitsFor('open-vented'));
    expect(vented.conditions['pressure-high']?.isOn).toBe(false);
  });

  it('sensor stuck, dark or unplugged; kit silent; mains lost', () => {
    for (const code of ['stuck', 'dark', 'turbidity-missing', 'flow-missing'])
      expect(standing(verdict(code))).toEqual(['sensor']);
    expect(standing(verdict('silence'))).toEqual(['kit-silent']);
    expect(standing(remark('mains-lost'))).toEqual(['mains-lost']);
    expect(standing(verdict('rinse-mains-lost'))).toEqual(['mains-lost']);
    expect(standing(remark('mains-lost'), remark('mains-back'))).toEqual([]);
  });

  it('an emitter that never clears: by its passes, unless it is done', () => {
    expect(standing({ visit: { passes: 8, isDone: false } })).toEqual(['never-clears']);
    expect(standing({ visit: { passes: 8, isDone: true } })).toEqual([]);
    expect(standing({ visit: { passes: 7, isDone: false } })).toEqual([]);
  });

  it('bubbles, over range and a valve moved are no alarms', () => {
    for (const code of ['over-range', 'folded', 'bubbles']) expect(standing(verdict(code))).toEqual([]);
    expect(standing(remark('valve-opened'))).toEqual([]);
  });
});

describe('the whole watch', () => {
  it('a leak that was acknowledged is gone, and told again when it is remarked again', () => {
    const limits = limitsFor('sealed');
    const leak = { ...calm, remarks: [{ code: 'leak', figures: { barPerMin: 0.05 } }] };
    let step = watchAlarms(freshAlarms, { ...leak, atS: 10 }, limits);
    expect(step.sounds).toEqual(['leak']);
    step = handleAlarm(step.memory, { type: 'acknowledge', atS: 12, kind: 'leak' });
    step = watchAlarms(step.memory, { ...calm, atS: 13 }, limits);
    expect(alarmList(step.memory.alarms).shown).toEqual([]);
    step = watchAlarms(step.memory, { ...leak, atS: 500 }, limits);
    expect(step.sounds).toEqual(['leak']);
    expect(alarmList(step.memory.alarms).shown[0]?.entry.figures).toEqual({ barPerMin: 0.05 });
  });
});
