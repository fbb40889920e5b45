import { expect, test } from 'vitest';
import { whyNotOpen } from '../../../firmware-bridge/transport/serial-faults.ts';
import { messageCodes, say } from '../../../src/core/message/message.ts';

const facts = { port: '/dev/ttyUSB0', exists: true, group: 'dialout', others: ['/dev/ttyUSB0', '/dev/ttyACM1'] };

// Words of the serialport package and of the C library and Windows behind it, as seen or as in their sources.
test.each([
  [
    'Error: No such file or directory, cannot open /dev/ttyUSB0',
    facts,
    'transport-no-port',
    'Ports that are there: /dev/ttyACM1',
  ],
  [
    'Error: Permission denied, cannot open /dev/ttyUSB0',
    facts,
    'transport-no-permission',
    'sudo usermod -aG dialout $USER',
  ],
  ['Error Resource temporarily unavailable Cannot lock port', facts, 'transport-busy', 'in use by another program'],
  ['Error: Device or resource busy, cannot open /dev/ttyUSB0', facts, 'transport-busy', 'in use'],
  ['Opening COM3: Access denied', { ...facts, port: 'COM3', group: null }, 'transport-busy', 'COM3 is in use'],
  ['Opening COM3: File not found', { ...facts, port: 'COM3', group: null }, 'transport-no-port', 'no port COM3'],
  ['Input/output error', { ...facts, exists: false }, 'transport-no-port', 'Plug the kit in'],
  ['Error: Inappropriate ioctl for device', facts, 'transport-open', 'Inappropriate ioctl'],
])('%s', (message, found, code, words) => {
  const { problem, absent } = whyNotOpen(message, found);
  expect(problem.code).toBe(code);
  expect(say(problem)).toContain(words);
  expect(absent).toBe(code === 'transport-no-port');
});

test('each way a link can be wrong has a sentence of its own', () => {
  const codes = messageCodes.filter((code) => code.startsWith('transport-'));
  expect(codes.length).toBeGreaterThanOrEqual(9);
  const params = {
    port: 'P',
    others: 'none',
    group: 'G',
    baud: 1,
    seconds: 1,
    bytes: 1,
    what: 'W',
    folder: 'F',
    source: 'S',
  };
  const sentences = codes.map((code) => say({ code, params }));
  expect(new Set(sentences).size).toBe(codes.length);
  for (const sentence of sentences) expect(sentence).not.toContain('undefined');
});
