import { Bocpd } from '../../src/core/changepoint/bocpd.ts';
import type { Detector } from '../../src/core/changepoint/detector.ts';
import { Glr } from '../../src/core/changepoint/glr.ts';
import type { Front } from '../../src/core/line/front.ts';

const reference = { samples: 12, minSd: 0.5 };
const rivals: Record<string, (threshold: number) => Detector> = {
  bayes: (confidence) => new Bocpd({ reference, meanRun: 120, confidence }),
  ratio: (threshold) => new Glr({ reference, threshold, window: 60, least: 2, after: 'relearn' }),
};

/** `LIMPID_FRONTS=bayes:0.3` or `ratio:4`. */
const [name = '', threshold = ''] = (process.env['LIMPID_FRONTS'] ?? 'ratio:4').split(':');
const make = rivals[name];
if (!make) throw new Error(`LIMPID_FRONTS is bayes:CONFIDENCE or ratio:THRESHOLD; got "${name}".`);

/**
 * In the place of the line room's own `Fronts` (see swap-fronts.mjs): another detector on the same level less its expected
 * echo, its steps counted in the scatter of the moment; a rise over the background is a front.
 */
export class Fronts {
  private readonly detector = make?.(Number(threshold));
  private sum = 0;
  private last = Number.NaN;
  private rising = false;
  private top = 0;

  step(t: number, level: number, sd: number, floor: number): Front | null {
    if (Number.isNaN(level)) return null;
    if (!Number.isNaN(this.last)) this.sum += (level - this.last) / sd;
    this.last = level;
    const change = this.detector?.step(this.sum, t);
    if (this.rising) {
      this.top = Math.max(this.top, level);
      if (level < this.top - Math.max(3 * sd, 0.08 * Math.abs(this.top - floor))) this.rising = false;
      return null;
    }
    if (change?.direction !== 'up' || level < floor + 2 * sd) return null;
    this.rising = true;
    this.top = level;
    return { onsetS: change.onsetT, saidS: t };
  }

  restart(): void {
    this.detector?.reset();
    this.sum = 0;
    this.last = Number.NaN;
    this.rising = false;
  }
}
