import type { Block, Section } from '../block.ts';
import { say } from '../../core/message/message.ts';
import { sealsCutShort } from '../../core/seal/named.ts';
import { inFours } from '../../core/seal/seal.ts';
import { day, missing, said } from '../fact.ts';
import { type Gathered, isByOtherKey, isChanged, sealUnfit } from '../gather.ts';
import { sealGone, sealGoneFact, sealGoneWords } from '../seal-gone.ts';

const unknownKey = 'not among the keys known here: compare the fingerprint with the label beside the heat source';

/** How the record can be checked by somebody who was not there. */
export function sealSection(g: Gathered): Section {
  const { seal, chain, comments } = g.input;
  const gone = sealGone(g);
  const notYet = gone ? 'the sealed copy is not here' : 'the run is not sealed yet';
  const changed = isChanged(g.input);
  const key = seal && (seal.keyName === null ? unknownKey : `known as: ${seal.keyName}`);
  const blocks: Block[] = [
    {
      kind: 'facts',
      rows: [
        {
          label: 'Sealed',
          fact: seal ? said(`${day(seal.sealedAt)}${sealUnfit(g.input)}`) : sealGoneFact(g),
        },
        {
          label: 'Fingerprint of the key',
          fact: seal
            ? said(seal.fingerprint)
            : gone?.named.key
              ? said(`${gone.named.key}, as the record names it`)
              : missing(notYet),
        },
        { label: 'The key', fact: key ? said(key) : missing(notYet) },
        {
          label: 'Entries chained',
          fact: chain ? said(String(chain.count)) : missing('this recording carries no chain'),
        },
        {
          label: 'Last entry of the chain',
          fact: !chain
            ? missing('this recording carries no chain')
            : changed
              ? said(
                  `not shown: ${isByOtherKey(g.input) ? 'the seal is not by the key that the record names' : 'the record was changed'}, so its last entry proves nothing`,
                )
              : said(inFours(chain.hash)),
        },
        { label: 'Outside witness of the time', fact: missing('times are by the clock of the bridge alone') },
      ],
    },
    ...beforeIt(g),
    ...foundAgainst(g),
  ];
  if (!changed)
    blocks.push({
      kind: 'text',
      text: 'The chain shows any change made after an entry was written, and the seal any change made after it was signed, to whoever compares the last entry and the fingerprint with this page. Neither proves that the sensor was in the water. This report itself is not signed: what it says is proved by the recording. With that at hand, limpid verify FOLDER checks it, and limpid report FOLDER makes this report anew to be held beside it.',
    });
  if (chain && !changed)
    blocks.push({
      kind: 'code',
      caption: 'The last entry and the fingerprint, to be read by a camera',
      text: codeText(g),
    });
  if (comments.length > 0)
    blocks.push({
      kind: 'table',
      caption: 'Comments written beside the sealed record, not covered by the seal',
      columns: [
        { title: 'Written', share: 0.25 },
        { title: 'By', share: 0.2 },
        { title: 'Comment', share: 0.55 },
      ],
      rows: comments.map((c) => [day(c.written_at), c.by, c.text]),
      none: '',
    });
  return { id: 'seal', title: 'Seal', room: 330, blocks };
}

/** A seal that is not here, and sealings that were cut short before the one that stands. */
function beforeIt(g: Gathered): Block[] {
  const cutShort = sealsCutShort(g.input.entries).map((named) =>
    say({ code: 'seal-first-cut-short', params: { ...named } }),
  );
  const told = [sealGoneWords(g), ...cutShort].filter((text) => text !== '');
  return told.map((text) => ({ kind: 'text', text }));
}

/** So many faults are told in words; of more their number: one change can spoil every entry after it. */
const mostFaults = 12;

function foundAgainst({ input: { faults = [] } }: Gathered): Block[] {
  if (faults.length === 0) return [];
  const items = faults.slice(0, mostFaults).map(say);
  if (faults.length > mostFaults) items.push(`and ${faults.length - mostFaults} more`);
  return [{ kind: 'list', title: 'Found against this record', items }];
}

function codeText({ input }: Gathered): string {
  const { chain, seal, head } = input;
  const print = seal ? ` key ${seal.fingerprint.replaceAll(' ', '')}` : '';
  return `limpid ${head.runId} entries ${chain?.count ?? 0} last ${chain?.hash ?? ''}${print}`;
}
