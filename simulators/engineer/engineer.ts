import { turbidity } from '../circuit/water.ts';
import type { Random } from '../random.ts';
import type { Scenario } from '../scenarios/scenario.ts';
import type { Habits } from './habits.ts';
import { secondsToSensor, type Process, type Site, type TruePass, type TrueVisit } from './site.ts';

/** One engineer at work: baseline, the visits in their order, circulating, the rinse. By eye, clock and habit alone. */
export class Engineer {
  readonly #site: Site;
  readonly #plan: Scenario;
  readonly #habits: Habits;
  readonly #random: Random;
  /** Taps of one emitter are never told in another order than they were made. */
  #lastTapS = 0;

  constructor(site: Site, plan: Scenario, random: Random) {
    this.#site = site;
    this.#plan = plan;
    this.#habits = plan.habits;
    this.#random = random;
  }

  *work(): Process {
    const site = this.#site;
    const rig = site.rig;
    rig.fillEmitters(this.#random.between(0.45, 0.6));
    for (const [i] of rig.emitters.entries()) rig.openEmitter(i);
    this.#happening(0, 0);
    this.#tell('stage:baseline', null);
    yield this.#draw(this.#habits.baselineS);
    this.#tell('stage:emitters', null);
    for (const [i] of rig.emitters.entries()) if (i !== this.#plan.order[0]) rig.shutEmitter(i);
    for (const [n, emitter] of this.#plan.order.entries()) yield* this.#visit(n + 1, emitter);
    yield* this.#leave(null);
    if (this.#plan.circulateS !== null) yield* this.#circulate(this.#plan.circulateS);
    if (this.#plan.rinseS !== null) yield* this.#rinse(this.#plan.rinseS);
    this.#tell('stage:end', null);
    site.over = true;
  }

  *#visit(number: number, emitter: number): Process {
    const site = this.#site;
    yield* this.#leave(emitter);
    site.rig.beginVisit();
    site.rig.openEmitter(emitter);
    site.visits.push({
      number,
      emitter,
      fromS: site.nowS,
      toldFromS: this.#tell('emitter-open', emitter),
      toldToS: null,
      toS: null,
      pathL: site.rig.pathL(emitter),
    });
    const arrivesS = secondsToSensor(site.rig, emitter);
    if (this.#random.chance(0.6))
      site.sensors.bubbles.stir(site.nowS, arrivesS * this.#random.between(0.4, 0.9), 0.2, this.#random.between(5, 20));
    this.#happening(number, emitter);
    yield this.#draw(this.#habits.settleS);
    const passes = this.#random.whole(this.#habits.passes[0], this.#habits.passes[1]);
    for (let p = 1; p <= passes; p += 1) {
      yield* this.#pass(number, emitter);
      const brought = yield* this.#watch(p === passes, arrivesS);
      yield this.#draw(this.#habits.walkS);
      if (!brought && this.#random.chance(this.#habits.contentment)) break;
    }
  }

  /** Shut what is open; with an overlap, only after the next (`next`) has been opened. */
  *#leave(next: number | null): Process {
    const site = this.#site;
    const visit = site.visit;
    if (!visit) return;
    if (next !== null && next !== visit.emitter && this.#random.chance(this.#habits.overlap)) {
      // The next is opened first: its visit begins, and this one ends for everybody.
      visit.toS = site.nowS;
      site.spawn(this.#shutLater(visit));
      return;
    }
    site.rig.shutEmitter(visit.emitter);
    visit.toS = site.nowS;
    if (!this.#random.chance(this.#habits.forgetShut) || next === null)
      visit.toldToS = this.#tell('emitter-shut', visit.emitter);
    // On to the next room; when the shutting was not told, the next opening is, soon.
    yield visit.toldToS === null ? this.#random.between(1, 3) : this.#random.between(3, 25);
  }

  *#shutLater(visit: TrueVisit): Process {
    yield this.#random.between(2, 9);
    if (this.#site.visit?.emitter === visit.emitter) return;
    this.#site.rig.shutEmitter(visit.emitter);
    visit.toldToS = this.#tell('emitter-shut', visit.emitter);
  }

  *#pass(visit: number, emitter: number): Process {
    const site = this.#site;
    const open = site.rig.emitters[emitter];
    if (!open) return;
    const forgotten = this.#random.chance(this.#habits.forgetPass);
    const { slot } = site.rig.beginPass();
    const pass: TruePass = {
      visit,
      slot,
      startS: site.nowS,
      endS: site.nowS,
      toldS: null,
      pathL: site.rig.pathL(emitter),
    };
    site.passes.push(pass);
    open.vigour = this.#draw(this.#habits.vigour);
    if (!forgotten && !this.#random.chance(this.#habits.forgetStart)) pass.toldS = this.#tell('agitate-start', emitter);
    yield this.#draw(this.#habits.passS);
    open.vigour = 0;
    pass.endS = site.nowS;
    pass.pathL = site.rig.pathL(emitter);
    if (forgotten) return;
    const toldEndS = this.#tell('agitate-end', emitter);
    pass.toldS ??= toldEndS;
  }

  /**
   * Look at the hose every few seconds: go on when it has looked thin for a while, or when patience is at its end.
   * Returns whether any dirt was seen.
   */
  *#watch(last: boolean, arrivesS: number): Generator<number, boolean, void> {
    const site = this.#site;
    const untilS = site.nowS + this.#draw(this.#habits.patienceS);
    const leastS =
      site.nowS + Math.min(this.#draw(this.#habits.leastS) + arrivesS * this.#random.between(0.3, 1.2), 200);
    const wanted = this.#draw(last ? this.#habits.lingerS : this.#habits.thinS);
    let thinS = 0;
    let brought = false;
    while (site.nowS < untilS && (thinS < wanted || site.nowS < leastS)) {
      const step = this.#random.between(1, 3);
      yield step;
      const seen = turbidity(site.rig.atSensor) * Math.exp(0.25 * this.#random.normal());
      const level = this.#habits.eyeNtu + site.rig.house.background.levelNtu;
      brought ||= seen > level;
      thinS = seen < level && site.nowS > leastS - 10 ? thinS + step : 0;
    }
    return brought;
  }

  *#circulate(lengthS: number): Process {
    const rig = this.#site.rig;
    this.#tell('stage:circulate', null);
    rig.fillEmitters(1);
    for (const [i] of rig.emitters.entries()) rig.openEmitter(i);
    rig.heaterKPerMin = 0.2;
    rig.heaterSetC = 60;
    yield lengthS;
    rig.heaterKPerMin = 0;
  }

  *#rinse(lengthS: number): Process {
    const site = this.#site;
    const rig = site.rig;
    rig.fillEmitters(1);
    this.#tell('stage:rinse', null);
    site.rinseFromS = site.nowS;
    rig.rinsing = true;
    rig.beginVisit();
    const far = rig.emitters.map((_, i) => i).sort((a, b) => rig.pathL(b) - rig.pathL(a))[0] ?? 0;
    for (const [i] of rig.emitters.entries()) if (i !== far) rig.shutEmitter(i);
    rig.openEmitter(far);
    this.#tell('emitter-open', far);
    this.#happening('rinse', far);
    yield lengthS;
    site.rinseToS = site.nowS;
  }

  #happening(during: number | 'rinse', emitter: number): void {
    for (const trouble of this.#plan.troubles)
      if (trouble.during === during) this.#site.spawn(trouble.happen(this.#site, emitter));
  }

  #tell(event: string, emitter: number | null): number {
    const lateS = Math.max(this.#draw(this.#habits.tapLateS), this.#lastTapS + 0.3 - this.#site.nowS);
    this.#lastTapS = this.#site.nowS + lateS;
    this.#site.tap(event, emitter, lateS);
    return this.#lastTapS;
  }

  #draw(range: readonly [number, number]): number {
    return this.#random.between(range[0], range[1]);
  }
}
