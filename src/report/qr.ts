import { encode } from 'uqr';
import type { Picture, Shape } from './chart/picture.ts';

/** A square code for a camera (QR code, error correction M), with its quiet zone of four modules. */
export function qrPicture(text: string, size: number): Picture {
  const code = encode(text, { ecc: 'M', border: 4 });
  const module = size / code.size;
  const shapes: Shape[] = [];
  for (const [row, cells] of code.data.entries()) {
    for (let from = 0; from < cells.length; from++) {
      if (!cells[from]) continue;
      let to = from;
      while (cells[to]) to++;
      shapes.push({
        kind: 'rect',
        x: from * module,
        y: row * module,
        w: (to - from) * module,
        h: module,
        ink: 'trace',
      });
      from = to;
    }
  }
  return { width: size, height: size, shapes, alt: `Code to be read by a camera. It says: ${text}` };
}
