import { crc32, deflateSync } from 'node:zlib';

/** A picture made by hand: dark water left, clear water right. PNG (W3C recommendation), 8 bits a channel. */
export function testPicture(width: number, height: number): Uint8Array {
  const rows = Buffer.alloc(height * (1 + 3 * width));
  for (let y = 0; y < height; y++)
    for (let x = 0; x < width; x++) {
      const at = y * (1 + 3 * width) + 1 + 3 * x;
      const inJar = y > height / 4 && Math.abs(((2 * x) % width) - width / 2) < width / 3;
      const colour = !inJar ? [222, 222, 218] : x < width / 2 ? [70, 52, 36] : [196, 214, 220];
      rows.set(colour, at);
    }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 2, 0, 0, 0], 8);
  const part = (name: string, data: Buffer): Buffer => {
    const body = Buffer.concat([Buffer.from(name, 'latin1'), data]);
    const around = Buffer.alloc(8);
    around.writeUInt32BE(data.length, 0);
    around.writeUInt32BE(crc32(body), 4);
    return Buffer.concat([around.subarray(0, 4), body, around.subarray(4)]);
  };
  const signature = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  return Buffer.concat([signature, part('IHDR', head), part('IDAT', deflateSync(rows)), part('IEND', Buffer.alloc(0))]);
}
