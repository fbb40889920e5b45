/** One thing that the doctor looked at. */
export interface Check {
  readonly id: string;
  readonly state: 'ok' | 'fix' | 'unknown';
  /** What was found. */
  readonly text: string;
  /** What to do; '' when all is well. */
  readonly next: string;
}

export const ok = (id: string, text: string): Check => ({ id, state: 'ok', text, next: '' });
export const fix = (id: string, text: string, next: string): Check => ({ id, state: 'fix', text, next });
export const unknown = (id: string, text: string, next: string): Check => ({ id, state: 'unknown', text, next });
