import { say } from '../core/message/message.ts';
import { type CheckPoint, fix, notSeen, ok, short } from './kit-check-points.ts';
import type { KitHeard } from './kit-heard.ts';

// What the kit says of itself, and how it answers.

export function helloPoint(heard: KitHeard): CheckPoint {
  const title = 'Hello';
  const { hello } = heard;
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

export function commandPoints(heard: KitHeard): CheckPoint[] {
  const title = 'Commands';
  const ask = heard.ends.get('hello');
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
  const rate = heard.ends.get('rate');
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
  if (heard.strangeAsked)
    points.push(
      heard.strangeRefused === null
        ? notSeen(
            'command-unknown',
            'Unknown command',
            'Nothing was said to a command that does not exist.',
            'Send refused with the reason, so that a wrong command is not waited for.',
          )
        : ok('command-unknown', 'Unknown command', `Refused: ${heard.strangeRefused}.`),
    );
  return points;
}
