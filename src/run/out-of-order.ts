import type { Analysis } from '../core/analyse.ts';
import type { Verdict } from '../core/line/verdict.ts';

/**
 * What stands in for an analysis that met a fault of its own: it can tell nothing, and says so. A verdict that stood
 * then must not go on standing; the record goes on, and can be analysed later.
 */
export function outOfOrder(failed: Analysis, atS: number): Analysis {
  const verdict: Verdict = {
    state: 'cannot-tell',
    done: false,
    reason: { code: 'run.analysis-fault', figures: {} },
    sinceS: atS,
    confidence: null,
    forecast: null,
  };
  const { settings, visits, rinse, notices } = failed;
  return {
    sample: () => undefined,
    event: () => undefined,
    know: () => undefined,
    advance: () => undefined,
    settings,
    verdict,
    figures: {
      backgroundNtu: null,
      clearLevelNtu: null,
      excessNtu: null,
      noiseNtu: null,
      litresSincePassL: null,
      litresNeededL: null,
    },
    visit: null,
    visits,
    rinse: rinse && { ...rinse, clearAtS: null, withheld: true, verdict },
    notices,
  };
}
