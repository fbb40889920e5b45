import { textLine } from '../../firmware-bridge/wire/encode.ts';
import type { KitCommand } from '../../firmware-bridge/wire/command.ts';
import { gradeKit } from './kit-check.ts';
import { type CheckResult, fix } from './kit-check-points.ts';
import { type Hand, KitHeard } from './kit-heard.ts';
import type { KitLink } from './kit-link.ts';

export interface CheckOptions {
  readonly kit: string;
  readonly seconds: number;
  /** What is being done, for people; `left` real seconds to go. */
  readonly tell: (text: string, leftS: number) => void;
  /** Resets the board by its control lines, where the link has some; false: it could not. */
  readonly reset?: (() => Promise<boolean>) | undefined;
  /** A broker carries whole packs: there is no check sum to look for. */
  readonly isBroker?: boolean;
}

const leastForHandsS = 40;

/**
 * "Check my kit": listens for `seconds`, asks the kit a few things meanwhile, and grades what came against docs/wire.md.
 * Never throws for what a kit does.
 */
export async function checkKit(link: KitLink, options: CheckOptions): Promise<CheckResult> {
  const { kit, seconds, tell } = options;
  const check = new KitHeard(kit, link.counters());
  const stop = link.watch.listen((decoded, atS) => check.take(decoded, atS));
  const startS = link.clock.nowS();
  const leftS = (): number => Math.max(0, seconds - (link.clock.nowS() - startS) / link.clock.speed);
  const ask = async (name: string, command: KitCommand): Promise<void> => {
    const askedS = link.clock.nowS();
    const end = await link.ask(kit, command);
    check.ends.set(name, { end, tookS: (link.clock.nowS() - askedS) / link.clock.speed });
  };
  tell('Listening', leftS());
  await link.sleep(seconds * 0.1);
  tell('Asking for a hello', leftS());
  await ask('hello', { kind: 'hello' });
  const rateHz = check.hello?.rateHz ?? null;
  if (!check.ends.get('hello')?.end.problem) {
    // Its own rate: to obey costs nothing and changes nothing.
    if (rateHz !== null && rateHz >= 0.5 && rateHz <= 20) await ask('rate', { kind: 'rate', hz: rateHz });
    check.strangeAsked = true;
    await link.send(textLine('[{"n":"do-nothing-known","vb":true}]'), kit);
  }
  const hand = async (which: Hand, text: string, share: number): Promise<void> => {
    tell(text, leftS());
    const over = check.hand(which);
    await link.sleep(Math.max(0, Math.min(seconds * share, leftS())));
    over();
  };
  // Too short a check is not worth a walk to the sensors.
  if (seconds >= leastForHandsS) {
    await hand('supply', 'Hold the supply thermometer in your hand now, so that its wire shows', 0.25);
    await hand('turbidity', 'Cover the window of the turbidity sensor now, so that its wire shows', 0.15);
  }
  tell("Listening. Press the kit's reset button now, if it has one", leftS());
  await link.sleep(Math.max(0, leftS() - seconds * 0.25));
  if (options.reset) {
    tell('Restarting the kit', leftS());
    await options.reset();
  }
  tell('Listening', leftS());
  await link.sleep(leftS());
  stop();
  const points = gradeKit(check, link.counters(), options.isBroker !== true);
  const problem = link.problem();
  if (problem !== null) points.unshift(fix('link', 'Link', problem, 'See the sentence before.'));
  return {
    v: 1,
    kind: 'limpid-kit-check',
    kit,
    firmware: check.hello?.firmware ?? '',
    at: new Date(link.clock.wallMs()).toISOString(),
    seconds,
    against: 'docs/wire.md',
    verdict: points.some((p) => p.state === 'fix') ? 'fix' : 'ok',
    points,
  };
}
