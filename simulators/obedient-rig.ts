import type { RunEvent } from '../src/core/job/event.ts';
import type { Rig } from './circuit/rig.ts';
import type { SensorSet } from './sensors/sensor-set.ts';

export const siteFaultNames = [
  'pump-off',
  'kink',
  'leak',
  'filling-loop',
  'chamber-full',
  'bubbles',
  'fouling',
  'stuck',
  'dark',
  'gone',
  'calm',
] as const;

/** A pass of which only the end was told is taken to have lasted this long. */
const toldPassS = 30;
const stepS = 0.1;
/** How long the trouble `chamber-full` takes to come about. */
const chokeS = 300;

/** The engineer's word made true: what the tablet was told happens to the water. */
export class ObedientRig {
  readonly #rig: Rig;
  readonly #sensors: SensorSet;
  #visiting = false;
  #agitating: number | null = null;
  #reversed = false;
  /** Seconds until the chambers are full; 0: only by what they catch. */
  #chokingS = 0;

  /** Begins as after the filling: everything open, the pump on, emitters full. */
  constructor(rig: Rig, sensors: SensorSet) {
    this.#rig = rig;
    this.#sensors = sensors;
    this.#openAll();
  }

  advance(elapsedS: number): void {
    const steps = Math.max(1, Math.ceil(elapsedS / stepS - 1e-9));
    this.#choke(elapsedS);
    for (let i = 0; i < steps && elapsedS > 0; i += 1) this.#rig.step(elapsedS / steps);
  }

  /** The chambers fill by and by, as they do, only sooner. */
  #choke(elapsedS: number): void {
    if (this.#chokingS <= 0) return;
    const { chambers } = this.#rig;
    const room = Math.max(0, 0.97 * chambers.spec.capacityNtuL - chambers.caughtNtuL);
    chambers.caughtNtuL += (room * Math.min(elapsedS, this.#chokingS)) / this.#chokingS;
    this.#chokingS -= elapsedS;
  }

  obey(event: RunEvent): void {
    const index = this.#rig.house.emitters.findIndex((e) => e.id === event.emitter);
    if (event.event.startsWith('stage:')) this.#stage(event.event.slice('stage:'.length));
    else if (index >= 0 && this.#atEmitter(event.event, index)) return;
    else this.#atRig(event.event);
  }

  /** Returns false when there is no such trouble. */
  fault(name: string): boolean {
    const { hydraulics, pressure } = this.#rig;
    const { turbidity, bubbles } = this.#sensors;
    switch (name) {
      case 'pump-off':
        hydraulics.pumpOn = false;
        return true;
      case 'kink':
        hydraulics.throttle = 0.05;
        return true;
      case 'leak':
        pressure.leakLpm = 0.4;
        return true;
      case 'filling-loop':
        pressure.fillingLpmPerBar = 0.8;
        return true;
      case 'chamber-full':
        this.#chokingS = chokeS;
        return true;
      case 'bubbles':
        bubbles.stir(this.#rig.timeS, 0, 0.8, 30);
        return true;
      case 'fouling':
        turbidity.foulingPerMin = 8;
        return true;
      case 'stuck':
      case 'dark':
      case 'gone':
        turbidity.fault = name;
        return true;
      case 'calm':
        this.#calm();
        return true;
      default:
        return false;
    }
  }

  #calm(): void {
    const { hydraulics, pressure } = this.#rig;
    hydraulics.pumpOn = true;
    hydraulics.throttle = 1;
    this.#chokingS = 0;
    pressure.leakLpm = 0;
    pressure.fillingLpmPerBar = 0;
    this.#sensors.turbidity.fault = 'none';
    this.#sensors.turbidity.foulingPerMin = 0;
    this.#sensors.turbidity.foulingNtu = 0;
  }

  #atEmitter(name: string, index: number): boolean {
    switch (name) {
      case 'emitter-open':
        this.#open(index);
        return true;
      case 'emitter-shut':
      case 'skip':
        this.#rest();
        this.#rig.shutEmitter(index);
        return true;
      case 'agitate-start':
        this.#rest();
        this.#rig.beginPass();
        this.#agitate(index);
        return true;
      case 'agitate-end':
        if (this.#agitating === index) this.#rest();
        else {
          this.#rig.beginPass();
          this.#rig.shakeEmitter(index, toldPassS);
        }
        return true;
      default:
        return false;
    }
  }

  #atRig(name: string): void {
    const { hydraulics } = this.#rig;
    switch (name) {
      case 'rig-pump-off':
        hydraulics.pumpOn = false;
        break;
      case 'rig-pump-on':
        hydraulics.pumpOn = true;
        break;
      case 'chamber-emptied':
        this.#chokingS = 0;
        this.#rig.emptyChambers();
        this.#sensors.bubbles.stir(this.#rig.timeS, 5, 0.4, 15);
        break;
      case 'flow-reverse':
      case 'flow-forward':
        if (this.#reversed !== (name === 'flow-reverse')) {
          this.#rig.reverseFlow();
          this.#reversed = !this.#reversed;
        }
        break;
      case 'vent':
        this.#rig.pressure.letOut(0.4);
        this.#sensors.bubbles.stir(this.#rig.timeS, 10, 0.5, 20);
        break;
      case 'dose':
        this.#rig.dose(1500);
        break;
      default:
        break;
    }
  }

  #stage(stage: string): void {
    const rig = this.#rig;
    this.#rest();
    this.#visiting = stage === 'emitters';
    rig.rinsing = stage === 'rinse';
    rig.heaterKPerMin = stage === 'warm' || stage === 'circulate' ? 2 : 0;
    rig.heaterSetC = stage === 'circulate' ? 60 : 45;
    if (stage === 'half-fill' || stage === 'emitters') rig.fillEmitters(0.5);
    if (stage === 'circulate' || stage === 'rinse') rig.fillEmitters(1);
    if (stage !== 'rinse') this.#openAll();
    else {
      // Only the furthest emitter stays open.
      const far = rig.emitters.map((_, i) => i).sort((a, b) => rig.pathL(b) - rig.pathL(a))[0];
      for (const [i] of rig.emitters.entries()) if (i !== far) rig.shutEmitter(i);
    }
  }

  #open(index: number): void {
    const rig = this.#rig;
    this.#rest();
    // One at a time: who opens the next has shut the last.
    if (!rig.rinsing) for (const [i] of rig.emitters.entries()) if (i !== index) rig.shutEmitter(i);
    if (this.#visiting) rig.beginVisit();
    rig.openEmitter(index);
    const secondsToSensor = (rig.pathL(index) * 60) / (rig.house.emitters[index]?.aloneLpm ?? 10);
    this.#sensors.bubbles.stir(rig.timeS, 0.6 * secondsToSensor, 0.15, 10);
  }

  #openAll(): void {
    for (const [i] of this.#rig.emitters.entries()) this.#rig.openEmitter(i);
  }

  #agitate(index: number): void {
    const emitter = this.#rig.emitters[index];
    if (emitter) emitter.vigour = 1;
    this.#agitating = index;
  }

  #rest(): void {
    const emitter = this.#agitating === null ? undefined : this.#rig.emitters[this.#agitating];
    if (emitter) emitter.vigour = 0;
    this.#agitating = null;
  }
}
