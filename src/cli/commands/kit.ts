import { type Command, dataOption, type Input, numberOption, textOption, WrongUse } from '../command.ts';

/** Everything at the bench: find a kit, watch it, ask it, calibrate it, check it. */
export const kit: Command = {
  name: 'kit',
  summary: 'At the bench: find a kit, watch its raw and calibrated values, ask it things, calibrate it, check it.',
  args: [
    { name: 'action', about: 'list, watch, hello, rate, zero, blink, calibrate, check, or certificates' },
    { name: 'first', about: 'the port (or the URL of a broker); for calibrate: the channel', optional: true },
    { name: 'second', about: 'rate: packs a second; zero: the channel; calibrate: the port', optional: true },
  ],
  options: [
    { flags: '--baud <rate>', about: 'speed of the serial port (default: 115200)' },
    { flags: '--kit <urn>', about: 'which kit, where several are heard (default: the first)' },
    { flags: '--seconds <number>', about: 'how long to listen, measure or check (default: 4; calibrate 10; check 60)' },
    { flags: '--once', about: 'watch: show the values once and stop' },
    { flags: '--reset', about: 'check: restart the board by its control lines meanwhile' },
    { flags: '--who <name>', about: 'calibrate: who does it' },
    { flags: '--due <date>', about: 'calibrate: until when it holds (default: turbidity 90 days, others 365)' },
    {
      flags: '--standard <parts>',
      about: 'calibrate: value=..,u=..,what=.. of a standard; with raw=..,uraw=..,sd=..,kit=.. when it is read already',
      many: true,
    },
    {
      flags: '--bucket <parts>',
      about: 'calibrate flow: mass=..(kg),u=..,water=..(°C); with litres=..,lpm=.. when it is read already',
      many: true,
    },
    { flags: '--curve <kind>', about: 'calibrate: line, steps or shift (default: line; one standard: shift)' },
    { flags: '--at <celsius>', about: 'calibrate: temperature of the standards' },
    { flags: '--input <which>', about: 'calibrate with readings typed in: raw or kit (default: raw for turbidity)' },
    dataOption,
  ],
  examples: [
    'limpid kit list',
    'limpid kit watch /dev/ttyUSB0',
    'limpid kit rate /dev/ttyUSB0 10',
    'limpid kit calibrate turbidity /dev/ttyUSB0',
    'limpid kit calibrate pressure /dev/ttyUSB0 --who "A. Bench" --standard value=0,u=0.005',
    'limpid kit check /dev/ttyUSB0 --json > my-kit.json',
  ],
  run: runKit,
};

async function runKit(input: Input): Promise<number> {
  const [action = '', first = '', second = ''] = input.args;
  const bench = await import('../kit-actions.ts');
  switch (action) {
    case 'list':
      return await bench.list(input, seconds(input, 4), baud(input), first);
    case 'certificates':
      return await bench.certificates(input);
    case 'watch':
      return await bench.watch(input, place(first));
    case 'hello':
    case 'blink':
      return await bench.command(input, place(first), { kind: action });
    case 'rate':
      return await bench.rate(input, place(first), second);
    case 'zero':
      return await bench.zero(input, place(first), second);
    case 'check':
      return await bench.check(input, place(first), seconds(input, 60));
    case 'calibrate': {
      const { calibrate } = await import('../kit-calibrate.ts');
      return await calibrate(input, first, second, seconds(input, 10));
    }
    default:
      throw new WrongUse(
        `limpid kit "${action}" is unknown. There is: list, watch, hello, rate, zero, blink, calibrate, check, certificates.`,
      );
  }
}

function place(text: string): string {
  if (text === '') throw new WrongUse('On which port? limpid kit list shows them.');
  return text;
}

function seconds({ options }: Input, usual: number): number {
  const value = numberOption(options, 'seconds') ?? usual;
  if (value < 0.5 || value > 3600) throw new WrongUse(`--seconds goes from 0.5 to 3600; got ${value}.`);
  return value;
}

export function baud({ options }: Input): number {
  const value = Number(textOption(options, 'baud') ?? '115200');
  if (!Number.isInteger(value) || value < 300) throw new WrongUse(`--baud is a whole number from 300; got ${value}.`);
  return value;
}
