import type {
  BenchCertificate,
  benchAnswerSchema,
  benchCommandSchema,
  benchCountedSchema,
  BenchMeasured,
  BenchView,
  BenchWork,
} from '../core/job/bench-schema.ts';
import type { z } from 'zod';

/** What the server needs of the bench of the running bridge. Methods throw Problem: what is wrong and what to do. */
export interface BenchPort {
  view(): BenchView;
  command(asked: z.infer<typeof benchCommandSchema>): Promise<z.infer<typeof benchAnswerSchema>>;
  measure(kit: string, channel: string, seconds: number): Promise<BenchMeasured>;
  litres(kit: string, action: 'start' | 'stop'): z.infer<typeof benchCountedSchema>;
  /** What this work comes to; nothing is kept. */
  fit(work: BenchWork): BenchCertificate;
  /** Keeps it; readings go by it from now on. */
  keep(work: BenchWork): BenchCertificate;
  /** Begins a check; its course and result are in the view. */
  check(kit: string, seconds: number): void;
}
