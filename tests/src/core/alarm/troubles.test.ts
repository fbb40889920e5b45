import { describe, expect, it } from 'vitest';
import { rehearsalSensors } from '../../../../simulators/scenarios/rehearsal.ts';
import { Rehearsed } from './rehearsed.ts';

// What goes wrong on site, line by line, on the rehearsal's water: what rises, and what is said instead of a verdict.

/** In a visit, after one pass. */
const visiting = (seed = 'a'): Rehearsed =>
  new Rehearsed(seed).go(30).tell('stage:emitters').tell('emitter-open', 'parlour').go(60).tell('agitate-end').go(40);
const rinsing = (): Rehearsed =>
  new Rehearsed('a').go(30).tell('stage:rinse').tell('emitter-open', 'loft-room').go(120);

describe('troubles on site raise their own alarm and no other', () => {
  it('pump off, valve shut', () => {
    const r = visiting().fault('pump-off').go(60);
    expect([r.rose, r.verdict]).toEqual([['no-flow'], 'no-flow']);
    // Back again: nothing stands that somebody has seen.
    r.tell('alarm-acknowledge', '', 'no-flow').fault('calm').go(30);
    expect(r.listed).toEqual([]);
  });

  it('hose kinked', () => expect(visiting().fault('kink').go(60).rose).toEqual(['no-flow']));

  it('chamber filling up: empty it now', () => {
    const r = visiting().go(60).fault('chamber-full').go(540);
    expect(r.rose).toEqual(['chamber-full']);
    expect(r.tell('chamber-emptied').go(30).tell('alarm-acknowledge', '', 'chamber-full').go(1).listed).toEqual([]);
  });

  it('leak', () => expect(visiting().fault('leak').go(400).rose).toEqual(['leak']));

  it('filling loop left open: told first, and the pressure when it nears the relief valve', () => {
    const r = visiting().fault('filling-loop').go(200);
    expect(r.rose).toEqual(['filling-loop']);
    expect(r.go(500).rose).toEqual(['filling-loop', 'pressure-high']);
    // The cause that stands explains the climb: one of the two is listed.
    expect(r.listed).toEqual(['pressure-high']);
  });

  it('too hot', () => {
    const r = visiting();
    r.rig.heaterKPerMin = 4;
    r.rig.heaterSetC = 90;
    expect(r.go(900).rose).toEqual(['too-hot']);
  });

  it('bubbles after opening or venting: none', () => {
    const r = visiting().fault('bubbles').tell('vent', 'parlour').go(120);
    expect([r.rose, r.notices]).toEqual([[], []]);
  });

  it.each([
    ['stuck', 'stuck'],
    ['dark', 'dark'],
    ['gone', 'turbidity-missing'],
  ])('sensor %s: no verdict, and why', (fault, reason) => {
    const r = visiting().fault(fault).go(60);
    expect([r.rose, r.verdict]).toEqual([['sensor'], reason]);
  });

  it('kit silent, in a visit and between two', () => {
    const r = visiting();
    r.isSilent = true;
    expect([r.go(60).rose, r.verdict]).toEqual([['kit-silent'], 'silence']);
    const between = visiting().tell('emitter-shut', 'parlour');
    between.isSilent = true;
    expect(between.go(60).rose).toEqual(['kit-silent']);
  });

  it('window fouled: told once the climb is sure', () => {
    const r = visiting().fault('fouling').go(150);
    expect(r.rose).toEqual([]);
    expect(r.go(150).rose).toEqual(['window']);
    expect(r.go(800).rose).toEqual(['window']);
    expect(r.tell('alarm-acknowledge', '', 'window').go(300).listed).toEqual([]);
  });

  it('over range: no verdict while it lasts, and no alarm, for nobody need do a thing', () => {
    const turbidity = { ...rehearsalSensors.turbidity, hiNtu: 150 };
    const r = new Rehearsed('a', { ...rehearsalSensors, turbidity }).go(30).tell('stage:emitters');
    r.tell('emitter-open', 'parlour').go(60).tell('agitate-end');
    const said = new Set<string>();
    for (let i = 0; i < 60; i++) said.add(r.go(1).verdict);
    expect(said).toContain('over-range');
    expect(r.rose).toEqual([]);
  });

  it('an emitter that never clears', () => {
    const r = visiting();
    for (let i = 0; i < 8; i++) r.tell('agitate-end').go(45);
    expect(r.rose).toEqual(['never-clears']);
    expect(r.tell('emitter-shut', 'parlour').go(15).tell('alarm-acknowledge', '', 'never-clears').listed).toEqual([]);
  });

  it('two emitters open', () => {
    const r = new Rehearsed('a').go(30).tell('stage:emitters');
    for (const id of ['kitchen', 'parlour']) r.tell('emitter-open', id).go(120).tell('agitate-end').go(60);
    r.rig.openEmitter(1);
    expect(r.go(120).rose).toEqual(['two-open']);
  });

  it('mains lost in the rinse', () => {
    const r = rinsing();
    r.rig.hydraulics.throttle = 0;
    r.rig.pressure.letOut(5);
    expect([r.go(60).rose, r.verdict]).toEqual([['mains-lost'], 'rinse-mains-lost']);
  });

  it('none of them in a job without trouble: visits, passes, a rest over night, circulation and rinse', () => {
    const r = new Rehearsed('b').go(30).tell('stage:emitters');
    for (const id of ['hall', 'kitchen', 'parlour']) {
      r.tell('emitter-open', id).go(60);
      for (let pass = 0; pass < 4; pass++) r.tell('agitate-end').go(110);
    }
    r.tell('emitter-shut', 'parlour').tell('pause', '', 'Over night');
    r.isSilent = true;
    r.go(600);
    r.isSilent = false;
    r.go(5).tell('resume').go(20).tell('stage:circulate').go(600).tell('stage:rinse').tell('emitter-open', 'hall');
    expect(r.go(300).rose).toEqual([]);
  });
});
