import fc from 'fast-check';
import { expect, test } from 'vitest';
import { Framer, maxPackBytes } from '../../../firmware-bridge/wire/frame.ts';
import { textBytes } from '../../../firmware-bridge/wire/line-text.ts';
import { cutAt } from '../bytes.ts';

function lines(chunks: readonly Uint8Array[]): string[] {
  const framer = new Framer();
  return chunks.flatMap((chunk) =>
    framer.push(chunk).map((f) => (f.tooLong ? 'too long' : Buffer.from(f.line).toString('latin1'))),
  );
}

test('LF and CR LF end a line, empty lines are none, the rest waits', () => {
  expect(lines([textBytes('a\nb\r\n\n\r\nc')])).toEqual(['a', 'b']);
  expect(lines([textBytes('a\nb\r'), textBytes('\nc'), textBytes('\n')])).toEqual(['a', 'b', 'c']);
});

test('a pack of 1024 bytes with check sum and CR passes, one byte more does not', () => {
  const longest = 'x'.repeat(maxPackBytes + 5);
  expect(lines([textBytes(`${longest}\r\n`)])).toEqual([longest]);
  expect(lines([textBytes(`${longest}yy\nok\n`)])).toEqual(['too long', 'ok']);
});

test('two megabytes without a newline cost one refusal and no memory, and lines begin again at the next LF', () => {
  const framer = new Framer();
  const chunk = new Uint8Array(65536).fill(0x78);
  for (let i = 0; i < 32; i++) expect(framer.push(chunk)).toEqual([]);
  expect(framer.push(textBytes('end\n[]\n')).map((f) => f.tooLong)).toEqual([true, false]);
});

test('property: however bytes are split, the lines are the same', () => {
  const line = fc.oneof(fc.string({ maxLength: 40 }), fc.constant('y'.repeat(2000)));
  fc.assert(
    fc.property(fc.array(line, { maxLength: 8 }), fc.array(fc.nat(20000), { maxLength: 12 }), (texts, cuts) => {
      const bytes = textBytes(texts.map((t) => `${t}\r\n`).join(''));
      expect(lines(cutAt(bytes, cuts))).toEqual(lines([bytes]));
    }),
  );
});
