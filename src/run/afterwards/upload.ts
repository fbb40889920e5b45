import { randomBytes } from 'node:crypto';
import { createWriteStream, mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { Refused } from '../../server/refuse.ts';

const uploadLimitMb = 300;

/** An uploaded file on the disk, for as long as `use` takes. Throws Refused: it is too large. */
export async function withUpload<T>(
  data: string,
  body: AsyncIterable<Uint8Array>,
  use: (path: string) => T,
): Promise<T> {
  const folder = join(data, 'work');
  mkdirSync(folder, { recursive: true });
  const path = join(folder, `upload-${randomBytes(6).toString('hex')}.zip`);
  try {
    let bytes = 0;
    const counted = Readable.from(body).map((piece: Uint8Array) => {
      bytes += piece.length;
      if (bytes > uploadLimitMb << 20) throw new Refused(413, 'office-upload-too-large', { limitMb: uploadLimitMb });
      return piece;
    });
    await pipeline(counted, createWriteStream(path));
    return use(path);
  } finally {
    rmSync(path, { force: true });
  }
}
