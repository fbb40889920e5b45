import { useEffect, useState } from 'preact/hooks';
import type { RunPage } from '../../src/core/audit/page-schema.ts';
import type { Span } from '../shared/plot-data.ts';
import { bridge, fileAddress } from './client.ts';
import { typed } from './form.ts';
import { may, sentence, tried } from './model.ts';
import { shownChannels } from './run-chart.tsx';
import { moment } from './words.ts';

/** Everything can leave: the record, tables, the report, the chart as it is shown, and a link to this view. */
export function Files({ page, view }: { page: RunPage; view: Span }) {
  const { runId } = page.run;
  const chart = {
    fromS: view.fromS.toFixed(1),
    toS: view.toS.toFixed(1),
    channels: shownChannels(page).join(','),
  };
  const [told, setTold] = useState('');
  const link = (file: string, words: string, query = {}) => (
    <li>
      <a href={fileAddress(runId, file, query)} download>
        {words}
      </a>
    </li>
  );
  return (
    <section class="files" aria-label="Files">
      <h3>Take it along</h3>
      <ul>
        {link('report.pdf', 'Report (PDF)')}
        {link('report.html', 'Report (one page for a browser)')}
        {link('recording.zip', page.run.seal === 'intact' ? 'Whole record with its seal (zip)' : 'Whole record (zip)')}
        {link('recording.csv', 'Readings (CSV)')}
        {link('events.csv', 'Events (CSV)')}
        {link('visits.csv', 'Visits (CSV)')}
        {link('findings.csv', 'Findings (CSV)')}
        {link('run.json', 'All that this page shows (JSON)')}
        {link('chart.svg', 'Chart as it is shown (SVG)', chart)}
        <li>
          <button
            type="button"
            class="plain"
            onClick={() =>
              void savePicture(fileAddress(runId, 'chart.svg', chart), `${runId}-chart.png`).catch((error: unknown) =>
                setTold(sentence(error)),
              )
            }
          >
            Chart as it is shown (PNG)
          </button>
        </li>
        <li>
          <button
            type="button"
            class="plain"
            onClick={() => void copyAddress().then((done) => setTold(done ? 'The link is copied.' : location.href))}
          >
            Link to this view
          </button>{' '}
          <span role="status">{told}</span>
        </li>
      </ul>
      {may('auditor') && <Links runId={runId} />}
    </section>
  );
}

async function copyAddress(): Promise<boolean> {
  try {
    // Only on https or on this very machine; elsewhere the address is shown.
    await navigator.clipboard.writeText(location.href);
    return true;
  } catch {
    return false;
  }
}

const pixelsPerPoint = 2;

/** The drawing as pixels, made here: the bridge draws no pixels. */
async function savePicture(address: string, name: string): Promise<void> {
  const svg = await (await fetch(address)).text();
  const image = new Image();
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
  await image.decode();
  const canvas = document.createElement('canvas');
  canvas.width = image.width * pixelsPerPoint;
  canvas.height = image.height * pixelsPerPoint;
  const paper = canvas.getContext('2d');
  if (paper === null) throw new Error('this browser gives no canvas');
  paper.fillStyle = '#ffffff';
  paper.fillRect(0, 0, canvas.width, canvas.height);
  paper.drawImage(image, 0, 0, canvas.width, canvas.height);
  const link = document.createElement('a');
  link.href = canvas.toDataURL('image/png');
  link.download = name;
  link.click();
}

type Known = Awaited<ReturnType<typeof bridge.links>>['links'];

/** Links for people without an account: this run alone, read only, until a day. */
function Links({ runId }: { runId: string }) {
  const [links, setLinks] = useState<Known>([]);
  const [made, setMade] = useState<string | null>(null);
  useEffect(() => {
    void tried(() => bridge.links(runId)).then((answer) => answer && setLinks(answer.links));
  }, [runId]);
  return (
    <>
      <h4>Show this run to somebody without an account</h4>
      <form
        class="line-form"
        onSubmit={(event) => {
          event.preventDefault();
          const days = Number(typed(event.currentTarget, 'days'));
          void tried(() => bridge.addLink(runId, days)).then((link) => {
            if (link === null) return;
            setMade(`${location.origin}${link.link}`);
            setLinks([...links, link]);
          });
        }}
      >
        <label>
          Days
          <input name="days" type="number" min={1} max={365} defaultValue="14" required />
        </label>
        <button type="submit">Make a link</button>
      </form>
      {made !== null && (
        <p role="status">
          <label>
            Shown once; whoever has it can read this run
            <input readOnly value={made} onFocus={(event) => event.currentTarget.select()} />
          </label>
        </p>
      )}
      <ul class="plain-list">
        {links.map((l) => (
          <li key={l.id}>
            Until {moment(l.until)} UTC, by {l.madeBy}{' '}
            <button
              type="button"
              class="plain"
              onClick={() => void tried(() => bridge.removeLink(runId, l.id)).then((a) => a && setLinks(a.links))}
            >
              End it
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}
