import { describe, expect, it } from 'vitest';
import { createAnalysis } from '../../../../src/core/analyse.ts';
import { analyseRecording } from '../../../../src/core/analyse-recording.ts';
import { type MadeRun, makeRun, type Recipe } from '../line/made-run.ts';

/** Mains water at 10 l/min into 20 l of system water: both fall with 120 s. */
function rinse(more: Partial<Recipe> = {}): MadeRun {
  return makeRun({
    endS: 900,
    noiseNtu: 0.3,
    backgroundNtu: 0.4,
    events: [[0, 'stage:rinse', '']],
    reading: (ntu, t) => Math.max(0, ntu + 30 * Math.exp(-t / 120)),
    conductivityUsCm: (t) => 300 + 1500 * Math.exp(-t / 120),
    ...more,
  });
}

const result = (run: MadeRun) => analyseRecording(run.context, run.samples, run.events).rinse;

describe('rinse at mains level', () => {
  it('comes when turbidity and conductivity both have come to the mains', () => {
    // Turbidity within 2 NTU: 120 ln(30/2) = 325 s; conductivity within 10 %: 120 ln(1500/30) = 469 s.
    const at = result(rinse())?.clear_at_s;
    expect(at).toBeGreaterThan(469);
    expect(at).toBeLessThan(469 + 30);
  });

  it('is judged by turbidity alone where conductivity is not measured, later, and says so', () => {
    const found = result(rinse({ conductivityUsCm: () => null }));
    expect(found?.clear_at_s).toBeGreaterThan(325 + 30);
    expect(found?.clear_at_s).toBeLessThan(325 + 75);
    expect(found?.reason.text).toMatch(/Conductivity is not measured/);
  });

  it('is taken back when a slug of system water comes late', () => {
    const slug = (t: number) => (t > 600 && t < 660 ? 25 : 0);
    const found = result(rinse({ reading: (ntu, t) => Math.max(0, ntu + 30 * Math.exp(-t / 120) + slug(t)) }));
    expect(found?.clear_at_s).toBeGreaterThan(660);
  });

  it('says for how long the kit is silent', () => {
    const silent = rinse({ reading: (ntu, t) => (t > 200 ? 'nothing' : ntu) });
    const analysis = createAnalysis(silent.context);
    for (const event of silent.events) analysis.event(event);
    for (const sample of silent.samples) analysis.sample(sample);
    analysis.advance(300);
    expect(analysis.rinse?.verdict.reason).toMatchObject({ code: 'silence', figures: { silentS: 4 } });
  });

  it('is withheld when the mains are lost to the end', () => {
    const found = result(rinse({ flowLpm: (t) => (t > 200 ? 0 : 10) }));
    expect(found).toMatchObject({ clear_at_s: null, withheld: true });
    expect(found?.reason.code).toBe('rinse-mains-lost');
  });

  it('shows the level of the mains to come under, not the background of the loop that is rinsed out', () => {
    const run = rinse();
    const analysis = createAnalysis(run.context);
    for (const event of run.events) analysis.event(event);
    for (const sample of run.samples.slice(0, 2000)) analysis.sample(sample);
    // 0.4 NTU of the mains and 2 over it.
    expect(analysis.figures).toMatchObject({ backgroundNtu: null, clearLevelNtu: 2.4 });
  });

  it('is null without the stage, and ends at the next', () => {
    expect(result(rinse({ events: [[0, 'stage:circulate', '']] }))).toBeNull();
    const ended = result(
      rinse({
        events: [
          [0, 'stage:rinse', ''],
          [300, 'stage:after-samples', ''],
        ],
      }),
    );
    expect(ended?.clear_at_s).toBeNull();
  });
});
