import type { QuantityKind } from '../../quantity/units.ts';

/** One thing to type or to choose. */
export interface Field {
  readonly name: string;
  readonly label: string;
  readonly kind: 'number' | 'choice' | 'text';
  readonly unit?: string;
  readonly quantity?: QuantityKind;
  readonly least?: number;
  readonly most?: number;
  /** A stepper's step; without it the figure is typed. */
  readonly step?: number;
  readonly decimals?: number;
  readonly choices?: readonly string[];
  /** Shown to begin with. */
  readonly start?: number | string;
  /** `rig`: what is shown to begin with is the rig's own reading, and is kept as that unless it is typed over. */
  readonly startBy?: 'rig';
  readonly optional?: boolean;
}
