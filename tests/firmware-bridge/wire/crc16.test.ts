import { expect, test } from 'vitest';
import { crc16, crcDigits, readCrcDigits } from '../../../firmware-bridge/wire/crc16.ts';
import { textBytes } from '../../../firmware-bridge/wire/line-text.ts';

// Check value of CRC-16/IBM-3740 (CCITT-FALSE): catalogue of parametrised CRC algorithms (G. Cook).
test('the nine digits give 29B1', () => {
  expect(crcDigits(crc16(textBytes('123456789')))).toBe('29B1');
});

// Computed with an independent library (crcmod, crc-ccitt-false).
test('four zero bytes give 84C0 and nothing gives FFFF', () => {
  expect(crcDigits(crc16(new Uint8Array(4)))).toBe('84C0');
  expect(crcDigits(crc16(new Uint8Array(0)))).toBe('FFFF');
});

test('digits are read back, and only upper-case ones', () => {
  expect(readCrcDigits(textBytes('00FF'), 0)).toBe(0xff);
  expect(readCrcDigits(textBytes('00ff'), 0)).toBeNull();
  expect(readCrcDigits(textBytes('0FF'), 0)).toBeNull();
});
