import type { Message } from '../core/message/message.ts';
import { Problem } from '../core/message/problem.ts';
import type { RunStore } from '../store/store.ts';

export interface KeepingOptions {
  readonly store: RunStore;
  /** Told of what should never happen. */
  readonly fault: (error: unknown) => void;
  /** Told when the record cannot be kept, and why; null when it can again. */
  readonly trouble?: (problem: Message | null) => void;
}

/** Brings the run's samples to the disk. Those that cannot be kept now wait for the next time. */
export class Keeping {
  private readonly options: KeepingOptions;
  private now: Message | null = null;

  constructor(options: KeepingOptions) {
    this.options = options;
  }

  /** Why nothing can be kept now; null: it is kept. */
  get problem(): Message | null {
    return this.now;
  }

  flush(): void {
    const { store, fault, trouble } = this.options;
    let problem: Message | null = null;
    try {
      store.flush();
    } catch (error) {
      if (!(error instanceof Problem)) fault(error);
      problem = error instanceof Problem ? error : { code: 'run.not-kept', params: {} };
    }
    if (problem?.code !== this.now?.code) trouble?.(problem);
    this.now = problem;
  }
}
