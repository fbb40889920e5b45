import { Aligner } from '../../firmware-bridge/clock/align.ts';
import type { CommandEnd } from '../../firmware-bridge/wire/command.ts';
import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import type { Decoded, Hello, Pack, Reject } from '../../firmware-bridge/wire/pack.ts';
import { say } from '../core/message/message.ts';
import { median, quantile } from '../core/quantity/robust.ts';
import type { ChannelName } from '../core/quantity/channels.ts';
import { channels } from '../core/quantity/channels.ts';
import { type CheckPoint, fix, notSeen, ok, short } from './kit-check-points.ts';
import { sensorPoints } from './kit-check-sensors.ts';

/** What was gathered of one kit during a check; graded at the end. */
export class KitCheck {
  readonly kit: string;
  hello: Hello | null = null;
  /** Answers to commands, by what was asked. */
  readonly ends = new Map<string, { end: CommandEnd; tookS: number }>();
  /** A word that no kit knows was answered by `refused`. */
  strangeRefused: string | null = null;
  strangeAsked = false;
  readonly series = new Map<ChannelName, number[]>();
  private readonly before: LinkCounters;
  private readonly aligner = new Aligner();
  private readonly intervalsS: number[] = [];
  private readonly arrivalsS: number[] = [];
  private readonly rejects = new Map<string, { reject: Reject; count: number }>();
  private last: { pack: Pack; atS: number } | null = null;
  private packs = 0;
  private upS = 0;
  private restarts = 0;
  /** A restart in the middle of a line tears it; that is no fault of the firmware. */
  private torn = { lines: 0, crc: 0 };
  private beforeIt: Reject | null = null;
  private helloAfterRestart = false;
  private bootRose = true;
  private awayS = 0;

  constructor(kit: string, counters: LinkCounters) {
    this.kit = kit;
    this.before = { ...counters };
  }

  take(decoded: Decoded, atS: number): void {
    if (!decoded.ok) {
      this.beforeIt = decoded.reject;
      this.reject(decoded.reject);
      return;
    }
    const { pack } = decoded;
    if (pack.kit !== this.kit || pack.late) return;
    this.packs += 1;
    for (const reject of pack.rejects) this.reject(reject);
    if (pack.hello) this.hello = pack.hello;
    if (pack.refused !== null && this.strangeAsked) this.strangeRefused ??= pack.refused;
    for (const { name, key } of channels) {
      const value = pack.values[key];
      if (value === undefined) continue;
      const list = this.series.get(name) ?? [];
      list.push(value);
      this.series.set(name, list);
    }
    this.aligner.align(pack.boot, pack.upS, atS);
    this.follow(pack, atS);
    this.last = { pack, atS };
    this.beforeIt = null;
  }

  private follow(pack: Pack, atS: number): void {
    const { last } = this;
    if (!last) return;
    const restarted = pack.boot !== last.pack.boot || pack.upS < last.pack.upS;
    if (restarted) {
      this.restarts += 1;
      if (this.beforeIt) this.torn.lines += 1;
      if (this.beforeIt?.code === 'wire-crc') this.torn.crc += 1;
      this.bootRose &&= pack.boot > last.pack.boot;
      this.awayS = Math.max(this.awayS, atS - last.atS);
      this.helloAfterRestart = pack.hello !== null;
      return;
    }
    if (this.restarts > 0 && pack.hello && pack.seq < 20) this.helloAfterRestart = true;
    if (pack.seq !== last.pack.seq + 1) return;
    this.intervalsS.push(pack.upS - last.pack.upS);
    this.arrivalsS.push(atS - last.atS);
    this.upS += pack.upS - last.pack.upS;
  }

  private reject(reject: Reject): void {
    const text = say(reject);
    const known = this.rejects.get(text);
    if (known) known.count += 1;
    else if (this.rejects.size < 50) this.rejects.set(text, { reject, count: 1 });
  }

  /** All points, in the order in which one would mend them. */
  grade(counters: LinkCounters, canHaveCrc: boolean): CheckPoint[] {
    const delta = (key: keyof LinkCounters): number => counters[key] - this.before[key];
    return [
      this.linesPoint(delta),
      canHaveCrc ? this.crcPoint(delta) : notSeen('crc', 'Check sum', 'A broker carries packs whole.', ''),
      this.identityPoint(),
      this.sequencePoint(delta),
      this.valuesPoint(delta),
      this.ratePoint(),
      this.jitterPoint(),
      this.helloPoint(),
      ...this.commandPoints(),
      this.driftPoint(),
      this.restartPoint(),
      ...sensorPoints(this.series, this.hello),
    ];
  }

  private linesPoint(delta: (key: keyof LinkCounters) => number): CheckPoint {
    const title = 'Lines';
    const bad = Math.max(0, delta('badLines') - this.torn.lines);
    const odd = delta('oddBytes');
    const figures = { lines: delta('lines'), bad, oddBytes: odd };
    if (bad === 0)
      return ok(
        'lines',
        title,
        `${delta('lines')} lines, all of them good${this.torn.lines > 0 ? ' but what the restart tore' : ''}.`,
        figures,
      );
    const worst = [...this.rejects.values()].toSorted((a, b) => b.count - a.count)[0];
    const what = worst ? ` Most often: ${say(worst.reject)}` : '';
    const byCrc = bad > 0 && delta('badCrc') > 0.8 * bad;
    const next =
      byCrc && odd === 0
        ? 'Lines are damaged on the way, or two are run together: look at the cable, its length and its neighbours, and at what else prints on this port.'
        : odd > 0
          ? 'Bytes that are no text came among the lines: electrical noise, or a bad ground. Twist and shorten the cable, keep it from pump and mains leads, join the grounds.'
          : 'Let the firmware print nothing but packs on this port, one whole line each (docs/wire.md).';
    return fix('lines', title, `${bad} of ${delta('lines')} lines could not be used.${what}`, next, figures);
  }

  private crcPoint(delta: (key: keyof LinkCounters) => number): CheckPoint {
    const title = 'Check sum';
    const without = delta('withoutCrc');
    const wrong = Math.max(0, delta('badCrc') - this.torn.crc);
    const figures = { without, wrong };
    if (wrong > 0)
      return fix(
        'crc',
        title,
        `${wrong} check sums did not fit their line.`,
        'If every line is hit, compare with the check value 29B1 of "123456789" (docs/wire.md); if only some, the cable catches noise.',
        figures,
      );
    if (without > 0)
      return fix(
        'crc',
        title,
        `${without} packs came without a check sum, so damage cannot be seen.`,
        'Print * and four upper-case hex digits behind each pack (docs/wire.md, Check sum).',
        figures,
      );
    return ok('crc', title, 'Every pack carries one, and every one fits.', figures);
  }

  private identityPoint(): CheckPoint {
    const title = 'Name of the kit';
    return /^urn:dev:(mac:[0-9a-f]{16}|ow:[0-9a-f]{16}|[a-z]+:.+)$/.test(this.kit) &&
      !/^urn:dev:ow:0{16}$/.test(this.kit)
      ? ok('identity', title, `${this.kit}, the same in every pack.`)
      : fix(
          'identity',
          title,
          `The kit calls itself ${this.kit}.`,
          'Use the hardware address (urn:dev:mac:) or the ROM code of the supply thermometer (urn:dev:ow:): is that thermometer plugged in?',
        );
  }

  private sequencePoint(delta: (key: keyof LinkCounters) => number): CheckPoint {
    const title = 'Sequence';
    const gaps = delta('gaps');
    const missing = Math.max(0, delta('missing'));
    const doubled = delta('duplicates');
    const leaps = delta('sequenceWraps');
    const figures = { packs: this.packs, gaps, missing, doubled, leaps };
    if (gaps + doubled + leaps === 0)
      return ok('sequence', title, `${this.packs} packs, each number once, none missing.`, figures);
    if (leaps > 0)
      return fix(
        'sequence',
        title,
        `seq began anew or leapt ${leaps} times without a restart.`,
        'Count seq up by one with each pack, in 31 bits, and begin anew only at a start.',
        figures,
      );
    if (doubled > gaps)
      return fix(
        'sequence',
        title,
        `${doubled} packs came twice.`,
        'Each pack gets its own seq; look for a line that is printed twice.',
        figures,
      );
    return fix(
      'sequence',
      title,
      `${missing} packs are missing in ${gaps} places.`,
      'Lines are lost on the way: slower rate, shorter packs, a better cable; or the firmware counts packs that it never printed.',
      figures,
    );
  }

  private valuesPoint(delta: (key: keyof LinkCounters) => number): CheckPoint {
    const title = 'Units and values';
    const refused = delta('recordsRejected');
    if (refused === 0)
      return ok('values', title, 'Every record has a known name, the right unit and a value that can be.', { refused });
    const worst = [...this.rejects.values()].toSorted((a, b) => b.count - a.count)[0];
    const what = worst ? say(worst.reject) : '';
    return fix(
      'values',
      title,
      `${refused} records were not believed. Most often: ${what}`,
      'Names and units stand in the table of docs/wire.md, Channels; leave out what a sensor cannot give.',
      { refused },
    );
  }

  private ratePoint(): CheckPoint {
    const title = 'Rate';
    const count = this.intervalsS.length;
    if (count < 5 || this.upS <= 0) return notSeen('rate', title, 'Too few packs to tell.', 'Check for longer.');
    const rateHz = count / this.upS;
    const told = this.hello?.rateHz ?? null;
    const figures = { rateHz, ...(told === null ? {} : { toldHz: told }) };
    if (rateHz < 0.5)
      return fix(
        'rate',
        title,
        `${short(rateHz)} packs a second.`,
        'Send at least one pack every 2 s; ten a second is usual.',
        figures,
      );
    if (told !== null && Math.abs(rateHz / told - 1) > 0.05)
      return fix(
        'rate',
        title,
        `${short(rateHz)} packs a second, but the hello says ${short(told)}.`,
        'The loop takes longer than its period: no blocking waits for a thermometer, or a lower rate; or tell the true rate.',
        figures,
      );
    const asTold = told === null ? '' : ', as the hello says';
    return ok('rate', title, `${short(rateHz)} packs a second${asTold}.`, figures);
  }

  private jitterPoint(): CheckPoint {
    const title = 'Evenness';
    if (this.intervalsS.length < 20) return notSeen('jitter', title, 'Too few packs to tell.', 'Check for longer.');
    const period = median(this.intervalsS);
    const jitter = quantile(
      this.intervalsS.map((s) => Math.abs(s - period)),
      0.95,
    );
    const arrival = quantile(
      this.arrivalsS.map((s) => Math.abs(s - period)),
      0.95,
    );
    const figures = { periodS: period, jitterS: jitter, arrivalJitterS: arrival };
    if (jitter > 0.25 * period)
      return fix(
        'jitter',
        title,
        `Packs are up to ${short(1000 * jitter)} ms off their beat of ${short(1000 * period)} ms.`,
        'Send by a clock (next += period), not by waiting after each loop.',
        figures,
      );
    return ok(
      'jitter',
      title,
      `95 % of the packs keep within ${short(1000 * jitter)} ms of their beat, and arrive within ${short(1000 * arrival)} ms of it.`,
      figures,
    );
  }

  private helloPoint(): CheckPoint {
    const title = 'Hello';
    const { hello } = this;
    if (!hello)
      return fix(
        'hello',
        title,
        'The kit did not say what it is.',
        'Send a hello at the start and when asked: firmware, rate, range and step of each channel (docs/wire.md, Hello).',
      );
    const turbidity = hello.channels['turbidity'];
    if (turbidity?.hi === undefined || turbidity.step === undefined)
      return fix(
        'hello',
        title,
        `Firmware ${hello.firmware}, but not the top and step of turbidity.`,
        'Send hi-turbidity and step-turbidity: without them "over range" and "stuck" are guessed.',
      );
    const names = Object.keys(hello.channels).join(', ');
    return ok('hello', title, `Firmware ${hello.firmware}; range or step told of ${names}.`);
  }

  private commandPoints(): CheckPoint[] {
    const title = 'Commands';
    const ask = this.ends.get('hello');
    if (!ask) return [notSeen('commands', title, 'None was sent.', 'Check for longer.')];
    const { end, tookS } = ask;
    if (end.problem?.code === 'command-no-answer')
      return [
        notSeen(
          'commands',
          title,
          'The kit did not answer.',
          'A kit need not understand commands. If yours should: does the cable carry both ways, and does the firmware read lines?',
        ),
      ];
    if (end.problem)
      return [fix('commands', title, say(end.problem), 'Answer do-hello by a hello (docs/wire.md, Commands).')];
    const points = [
      ok('commands', title, `do-hello was answered after ${short(1000 * tookS)} ms.`, { answerS: tookS }),
      tookS < 2
        ? ok('latency', 'Latency', `There and back with the wait for the next pack: ${short(1000 * tookS)} ms.`, {
            roundTripS: tookS,
          })
        : fix(
            'latency',
            'Latency',
            `An answer takes ${short(tookS)} s.`,
            'Something stores packs on the way: look for buffering in the firmware, the adapter or the broker.',
            { roundTripS: tookS },
          ),
    ];
    const rate = this.ends.get('rate');
    if (rate?.end.problem)
      points.push(
        fix(
          'command-rate',
          'Command do-rate',
          say(rate.end.problem),
          'Answer do-rate by a hello with the new rate, or by refused with the reason.',
        ),
      );
    else if (rate) points.push(ok('command-rate', 'Command do-rate', 'Obeyed, and told in the next hello.'));
    if (this.strangeAsked)
      points.push(
        this.strangeRefused === null
          ? notSeen(
              'command-unknown',
              'Unknown command',
              'Nothing was said to a command that does not exist.',
              'Send refused with the reason, so that a wrong command is not waited for.',
            )
          : ok('command-unknown', 'Unknown command', `Refused: ${this.strangeRefused}.`),
      );
    return points;
  }

  private driftPoint(): CheckPoint {
    const title = 'Clock';
    if (this.upS < 25 || this.restarts > 0)
      return notSeen(
        'clock',
        title,
        'The drift of the kit clock shows only over half a minute without a restart.',
        'Check for 60 s.',
      );
    const ppm = this.aligner.drift * 1e6;
    const figures = { driftPpm: ppm, scatterS: this.aligner.uncertaintyS };
    if (Math.abs(ppm) > 5000)
      return fix(
        'clock',
        title,
        `The kit's clock is ${short(Math.abs(ppm))} parts in a million ${ppm > 0 ? 'slow' : 'fast'}.`,
        'Is the firmware built for the crystal that is on the board? A ceramic resonator should keep within 5000, a crystal within 100.',
        figures,
      );
    return ok(
      'clock',
      title,
      `${short(Math.abs(ppm))} parts in a million ${ppm > 0 ? 'slow' : 'fast'} of the bridge's clock; readings are placed to ${short(1000 * this.aligner.uncertaintyS)} ms.`,
      figures,
    );
  }

  private restartPoint(): CheckPoint {
    const title = 'Restart';
    if (this.restarts === 0)
      return notSeen(
        'restart',
        title,
        'No restart was seen.',
        "Press the kit's reset button, or pull and put its plug, while the check runs.",
      );
    const figures = { restarts: this.restarts, awayS: this.awayS };
    if (!this.bootRose)
      return fix(
        'restart',
        title,
        'boot did not rise with the restart.',
        'Count starts in EEPROM or flash, one more at each: it is how late and doubled packs are told apart.',
        figures,
      );
    if (!this.helloAfterRestart)
      return fix(
        'restart',
        title,
        'No hello came after the restart.',
        'Send a hello with the first packs of each start.',
        figures,
      );
    if (this.awayS > 10)
      return fix(
        'restart',
        title,
        `The kit was away for ${short(this.awayS)} s.`,
        'Let the watchdog and the start-up take less than 10 s.',
        figures,
      );
    return ok(
      'restart',
      title,
      `Back after ${short(this.awayS)} s, boot one more, seq from 0, with its hello.`,
      figures,
    );
  }
}
