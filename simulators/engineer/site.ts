import type { RunEvent } from '../../src/core/job/event.ts';
import type { Rig } from '../circuit/rig.ts';
import type { SensorSet } from '../sensors/sensor-set.ts';

/** Something that goes on by itself: yields the seconds until its next act. */
export type Process = Generator<number, void, void>;

/** What an agitation was, as it truly happened. */
export interface TruePass {
  readonly visit: number;
  readonly slot: number;
  readonly startS: number;
  endS: number;
  /** First tap that told of it: of its beginning or its end. Null: none. */
  toldS: number | null;
  /** Litres of the path when it ended (a reversed flow has another). */
  pathL: number;
}

export interface TrueVisit {
  readonly number: number;
  readonly emitter: number;
  readonly fromS: number;
  /** When the tablet was told of the opening and of the shutting (null: never told). */
  readonly toldFromS: number;
  toldToS: number | null;
  toS: number | null;
  /** Litres that the path holds, all told. */
  readonly pathL: number;
}

export interface TroubleSpan {
  readonly name: string;
  readonly fromS: number;
  toS: number | null;
}

/** The place where engineer, troubles, water and tablet meet, and where what truly happened is written down. */
export class Site {
  readonly rig: Rig;
  readonly sensors: SensorSet;
  readonly events: RunEvent[] = [];
  readonly visits: TrueVisit[] = [];
  readonly passes: TruePass[] = [];
  readonly troubles: TroubleSpan[] = [];
  rinseFromS: number | null = null;
  rinseToS: number | null = null;
  over = false;
  /** No sample reaches the recording. */
  linkDown = false;
  readonly #processes: { process: Process; wakeS: number }[] = [];
  readonly #emitterNames: readonly string[];

  constructor(rig: Rig, sensors: SensorSet) {
    this.rig = rig;
    this.sensors = sensors;
    this.#emitterNames = rig.house.emitters.map((e) => e.id);
  }

  get nowS(): number {
    return this.rig.timeS;
  }

  get visit(): TrueVisit | null {
    const last = this.visits.at(-1);
    return last && last.toS === null ? last : null;
  }

  /** A tap on the tablet, `lateS` after the deed. */
  tap(event: string, emitter: number | null, lateS = 0): void {
    const id = emitter === null ? '' : (this.#emitterNames[emitter] ?? '');
    this.events.push({ timeS: Math.round((this.nowS + lateS) * 1000) / 1000, event, emitter: id, note: '' });
  }

  beginTrouble(name: string): TroubleSpan {
    const span: TroubleSpan = { name, fromS: this.nowS, toS: null };
    this.troubles.push(span);
    return span;
  }

  spawn(process: Process): void {
    this.#processes.push({ process, wakeS: this.nowS });
  }

  /** Let everything act that is due; returns when the next is. */
  act(): number {
    for (let i = 0; i < this.#processes.length; i += 1) {
      const item = this.#processes[i];
      if (!item) continue;
      while (item.wakeS <= this.nowS + 1e-9) {
        const next = item.process.next();
        if (next.done) {
          item.wakeS = Number.POSITIVE_INFINITY;
          break;
        }
        item.wakeS = Math.max(this.nowS + 1e-3, item.wakeS + next.value);
      }
    }
    return this.#processes.reduce((least, item) => Math.min(least, item.wakeS), Number.POSITIVE_INFINITY);
  }
}

/** Litres between an opening and its air's or water's arrival at the sensor, as seconds at this emitter's own flow. */
export function secondsToSensor(rig: Rig, emitter: number): number {
  return (rig.pathL(emitter) * 60) / (rig.house.emitters[emitter]?.aloneLpm ?? 10);
}
