import type { Hello } from '../../firmware-bridge/wire/pack.ts';
import type { RunEvent } from '../core/job/event.ts';
import { type Calibration, calibratedEvent } from './calibration.ts';

type Data = NonNullable<RunEvent['data']>;

export const kitHello = 'kit-hello';
/** A kit that began anew in the midst of a run. */
export const kitRestart = 'kit-restart';
/** A loose contact starts a kit anew by the hundred: told at most this often, with their number (run-clock seconds). */
const restartsEveryS = 60;

/**
 * What the record already knows of its kit: the newest hello, and the certificate that each channel goes by. Only what is
 * news is given out to be kept, so that a reading can be traced to ranges, steps and calibration without repetition.
 */
export class KitRecord {
  private helloTold = '';
  /** Kit whose readings the record held last; null: it says nothing of any. */
  measuredBy: string | null = null;
  /** Starts that were not told yet, the newest of them, and when the last ones were told. */
  private restarts = 0;
  private newest: { readonly kit: string; readonly boot: number } | null = null;
  private restartToldS = Number.NEGATIVE_INFINITY;
  /** Kit whose calibration was told last, and what was told of each channel. */
  private kit: string | null = null;
  private readonly told = new Map<string, string>();
  private readonly calibration: Calibration | undefined;

  constructor(calibration: Calibration | undefined) {
    this.calibration = calibration;
  }

  /** An event that the record holds already. */
  remember({ event, data = {} }: RunEvent): void {
    if (event === kitHello) this.helloTold = JSON.stringify(data);
    if (event === calibratedEvent) this.isNews(data);
    const isOfLeading = event === kitHello || event === calibratedEvent;
    if (isOfLeading && typeof data['kit'] === 'string') this.measuredBy = data['kit'];
  }

  /** Data of an event to keep, or null when the kit said nothing new. */
  hello(kit: string, hello: Hello): Data | null {
    const data: Record<string, string | number> = { kit, firmware: hello.firmware };
    if (hello.rateHz !== null) data['rateHz'] = hello.rateHz;
    for (const [name, range] of Object.entries(hello.channels))
      for (const [key, value] of Object.entries(range)) data[`${key}-${name}`] = value;
    const told = JSON.stringify(data);
    if (told === this.helloTold) return null;
    this.helloTold = told;
    return data;
  }

  restarted(kit: string, boot: number): void {
    this.restarts += 1;
    this.newest = { kit, boot };
  }

  /** Data of an event to keep: the starts since the last one; null: none, or it is too soon to tell again. */
  takeRestarts(timeS: number): Data | null {
    const { restarts, newest } = this;
    if (!newest || timeS - this.restartToldS < restartsEveryS) return null;
    this.restarts = 0;
    this.newest = null;
    this.restartToldS = timeS;
    return restarts === 1 ? { ...newest } : { ...newest, restarts };
  }

  /** Whether the calibration of this kit was looked up since it leads, or since a certificate was added. */
  isTold(kit: string | null): boolean {
    return kit === this.kit;
  }

  /** Data of events to keep: which certificate each channel goes by, from the sample at `fromS` on. */
  calibrated(kit: string | null, fromS: number, nowIso: string): Data[] {
    this.kit = kit;
    if (!this.calibration || kit === null) return [];
    return this.calibration
      .told(kit, nowIso)
      .map((told) => ({ ...told, fromS }))
      .filter((data) => this.isNews(data));
  }

  /** A certificate was added: it holds from the next reading on. */
  renew(): void {
    this.calibration?.renew();
    this.kit = null;
  }

  private isNews({ fromS: _from, ...told }: Data): boolean {
    const channel = String(told['channel']);
    const text = JSON.stringify(Object.entries(told).toSorted(([a], [b]) => (a < b ? -1 : 1)));
    if (this.told.get(channel) === text) return false;
    this.told.set(channel, text);
    return true;
  }
}
