import type { LinkCounters } from '../../firmware-bridge/wire/link-counters.ts';
import { type CheckPoint, fix, ok } from './kit-check-points.ts';
import type { KitHeard } from './kit-heard.ts';

// What comes over the wire, line by line: whole, named, in sequence, believable (docs/wire.md).

export function linesPoint(heard: KitHeard, count: (key: keyof LinkCounters) => number): CheckPoint {
  const title = 'Lines';
  const bad = Math.max(0, count('badLines') - heard.torn.lines);
  const odd = count('oddBytes');
  const figures = { lines: count('lines'), bad, oddBytes: odd };
  if (bad === 0)
    return ok(
      'lines',
      title,
      `${count('lines')} lines, all of them good${heard.torn.lines > 0 ? ' but what the restart tore' : ''}.`,
      figures,
    );
  const worst = heard.worstLine;
  const what = worst === '' ? '' : ` Most often: ${worst}`;
  const byCrc = bad > 0 && count('badCrc') > 0.8 * bad;
  const next =
    byCrc && odd === 0
      ? 'Lines are damaged on the way, or two are run together: look at the cable, and at what else prints on this port.'
      : odd > 0
        ? 'Bytes that are no text came among the lines: electrical noise, or a bad ground. Twist and shorten the cable, keep it from pump and mains leads, join the grounds.'
        : 'Let the firmware print nothing but packs on this port, one whole line each (docs/wire.md).';
  return fix('lines', title, `${bad} of ${count('lines')} lines could not be used.${what}`, next, figures);
}

export function crcPoint(heard: KitHeard, count: (key: keyof LinkCounters) => number): CheckPoint {
  const title = 'Check sum';
  const without = count('withoutCrc');
  const wrong = Math.max(0, count('badCrc') - heard.torn.crc);
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

export function identityPoint(heard: KitHeard): CheckPoint {
  const title = 'Name of the kit';
  return /^urn:dev:(mac:[0-9a-f]{16}|ow:[0-9a-f]{16}|[a-z]+:.+)$/.test(heard.kit) &&
    !/^urn:dev:ow:0{16}$/.test(heard.kit)
    ? ok('identity', title, `${heard.kit}, the same in every pack.`)
    : fix(
        'identity',
        title,
        `The kit calls itself ${heard.kit}.`,
        'Use the hardware address (urn:dev:mac:) or the ROM code of the supply thermometer (urn:dev:ow:): is that thermometer plugged in?',
      );
}

export function sequencePoint(heard: KitHeard, count: (key: keyof LinkCounters) => number): CheckPoint {
  const title = 'Sequence';
  const gaps = count('gaps');
  const missing = Math.max(0, count('missing'));
  const doubled = count('duplicates');
  const leaps = count('sequenceWraps');
  const figures = { packs: heard.packs, gaps, missing, doubled, leaps };
  if (gaps + doubled + leaps === 0)
    return ok('sequence', title, `${heard.packs} packs, each number once, none missing.`, figures);
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

export function valuesPoint(heard: KitHeard, count: (key: keyof LinkCounters) => number): CheckPoint {
  const title = 'Units and values';
  const refused = count('recordsRejected');
  if (refused === 0)
    return ok('values', title, 'Every record has a known name, the right unit and a value that can be.', { refused });
  return fix(
    'values',
    title,
    `${refused} records were not believed. ${reasons(heard.refusedRecords)}`,
    'Names and units stand in the table of docs/wire.md, Channels; leave out what a sensor cannot give.',
    { refused },
  );
}

/** Each of these is to be mended, so each is named, as long as one can read them. */
const mostNamed = 5;

function reasons(all: readonly string[]): string {
  const more = all.length - mostNamed;
  const named = all.slice(0, mostNamed).join(' ');
  return more > 0 ? `${named} There are ${more} more reasons.` : named;
}
