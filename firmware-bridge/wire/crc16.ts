/**
 * CRC-16/CCITT-FALSE (also named CRC-16/IBM-3740): polynomial 0x1021, initial value 0xFFFF, no reflection, final xor 0.
 * Check value: the nine ASCII bytes `123456789` give 0x29B1. Started at 0xFFFF because a CRC that starts at zero does not
 * notice zero bytes added in front.
 */
const table = Uint16Array.from({ length: 256 }, (_, byte) => {
  let crc = byte << 8;
  for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? (crc << 1) ^ 0x1021 : crc << 1;
  return crc & 0xffff;
});

/** CRC of `bytes[from..to)`, 0..0xFFFF. */
export function crc16(bytes: Uint8Array, from = 0, to = bytes.length): number {
  let crc = 0xffff;
  for (let i = from; i < to; i++) crc = ((crc << 8) & 0xffff) ^ (table[(crc >> 8) ^ (bytes[i] ?? 0)] ?? 0);
  return crc;
}

/** As it stands on the wire: four upper-case hex digits. */
export function crcDigits(crc: number): string {
  return crc.toString(16).toUpperCase().padStart(4, '0');
}

/** The value of one upper-case hex digit's byte, or -1. Lower case is not part of the wire. */
function digit(byte: number | undefined): number {
  if (byte === undefined) return -1;
  if (byte >= 0x30 && byte <= 0x39) return byte - 0x30;
  return byte >= 0x41 && byte <= 0x46 ? byte - 0x37 : -1;
}

/** Read four upper-case hex digits at `at`; null when they are not. */
export function readCrcDigits(bytes: Uint8Array, at: number): number | null {
  let crc = 0;
  for (let i = at; i < at + 4; i++) {
    const value = digit(bytes[i]);
    if (value < 0) return null;
    crc = crc * 16 + value;
  }
  return crc;
}
