import { nameOf } from '../../core/audit/outcome.ts';
import type { Section } from '../block.ts';
import { moment } from '../fact.ts';
import type { Gathered } from '../gather.ts';

/** The photos of the record with what they show and the hashes by which they are known; none: no such part. */
export function photosSection(g: Gathered): Section[] {
  const { photos } = g.driven.job;
  if (photos.length === 0) return [];
  const items = photos.map(({ timeS, emitter, what, file, sha256 }) => {
    const where = emitter === '' ? '' : `, ${nameOf(g, emitter)}`;
    const hash = sha256 === '' ? 'taken elsewhere, not kept with the record' : `SHA-256 ${sha256}`;
    const gone = file !== '' && g.input.beside?.photos.has(file) !== true;
    return {
      title: what === '' ? 'Photo' : what,
      note: `${moment(timeS)}${where}. ${hash}${gone ? '. Not there, or changed' : ''}`,
      file: gone ? '' : file,
    };
  });
  const caption = 'Each as it was kept, with the hash by which the record knows it.';
  return [{ id: 'photos', title: 'Photos', room: 300, blocks: [{ kind: 'photos', caption, items }] }];
}
