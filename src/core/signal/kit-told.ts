import type { RunEvent } from '../job/event.ts';

/** A remark on what the kit or its calibration told: a code of message/calibration.ts. */
export interface KitRemark {
  readonly code: string;
  readonly figures: Readonly<Record<string, number>>;
}

/**
 * What the record's own events tell of the turbidity sensor: `kit-hello` (range and step by the kit's own line) and
 * `calibrated` (the certificate in use, whose step, top and noise floor then hold instead). Null: not told.
 */
export class KitTold {
  stepNtu: number | null;
  topNtu: number | null;
  /** Scatter of single readings in clean water at the calibration, NTU: the limit of detection goes by no less. */
  blankSdNtu = 0;
  /** The last `kit-hello` came from another kit than the one before. */
  isOther = false;
  private kitStep: number | null;
  private kitTop: number | null;
  private certificate = '';
  private kit = '';

  constructor(step: number | null, top: number | null) {
    this.stepNtu = this.kitStep = step;
    this.topNtu = this.kitTop = top;
  }

  event({ event, data }: RunEvent): KitRemark | null {
    if (!data) return null;
    if (event === 'kit-hello') {
      const kit = typeof data['kit'] === 'string' ? data['kit'] : '';
      this.isOther = this.kit !== '' && kit !== '' && kit !== this.kit;
      if (kit !== '') this.kit = kit;
      this.kitStep = number(data['step-turbidity']) ?? this.kitStep;
      this.kitTop = number(data['hi-turbidity']) ?? this.kitTop;
      if (this.certificate === '') this.useKit();
      return null;
    }
    if (event !== 'calibrated' || data['channel'] !== 'turbidity') return null;
    this.certificate = typeof data['certificate'] === 'string' ? data['certificate'] : '';
    if (this.certificate === '') {
      this.useKit();
      return { code: 'not-calibrated', figures: {} };
    }
    this.stepNtu = number(data['step']);
    this.topNtu = number(data['hi']);
    this.blankSdNtu = number(data['blankSd']) ?? 0;
    return data['state'] === 'overdue' ? { code: 'calibration-overdue', figures: {} } : null;
  }

  private useKit(): void {
    this.stepNtu = this.kitStep;
    this.topNtu = this.kitTop;
    this.blankSdNtu = 0;
  }
}

function number(value: unknown): number | null {
  return typeof value === 'number' && Number.isFinite(value) && value >= 0 ? value : null;
}
