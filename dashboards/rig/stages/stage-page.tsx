import { Fragment } from 'preact';
import type { StagePage } from '../../../src/core/job/view-schema.ts';
import { cellText } from '../../shared/format.ts';
import { HoldButton } from '../../shared/hold-button.tsx';
import { type Phrase, t, told } from '../../shared/words/language.ts';
import { Actions } from '../actions.tsx';
import { Alarms } from '../alarms.tsx';
import { Aside } from '../emitter-list.tsx';
import { Strip } from '../links.tsx';
import { asking, linkState, mayWork, me, post, view } from '../model.ts';
import { Trace } from '../trace.tsx';
import { isWorkOpen } from '../work.ts';
import { Conditions } from './conditions.tsx';
import { Deeds } from './deeds.tsx';
import { FormView } from './form.tsx';
import { LinkDetail } from './link-detail.tsx';
import { LimitsView } from './limits.tsx';
import { Photos } from './photos.tsx';
import { PutRight } from './put-right.tsx';
import { PutRightButton } from './put-right-button.tsx';
import { RecordView } from './record.tsx';
import { SurveyView } from './survey.tsx';
import { TimeLine } from './time-line.tsx';
import { UnitsChoice } from '../units-choice.tsx';
import { Confirm, Why } from './why.tsx';

/** Nothing is left to be done but to seal it. */
function isSigned(page: StagePage): boolean {
  return page.name === 'hand-over' && page.missing.length === 0;
}

function Head({ page }: { page: StagePage }) {
  const band = view.value?.band;
  return (
    <section
      class={`stage-head kind-${band?.kind ?? 'idle'}${linkState.value === 'live' ? '' : ' is-old'}`}
      aria-label={t('Stage')}
    >
      <p class="stage-number">
        <b>{page.number}</b> {t('of 13')}
      </p>
      <p class="stage-words" role="status">
        {band?.words}
      </p>
      <p class="stage-do">
        {band?.emitter !== null && band?.emitter !== undefined && <b>{band.emitter} </b>}
        {view.value?.sealed ? t('Sealed: nothing more is taken, only comments beside it') : band?.doNow}
      </p>
      {!isSigned(page) && <p class="stage-forecast">{view.value?.forecast?.text}</p>}
      {page.name === 'emitters' && (
        <HoldButton
          className="back-to-line"
          hold={false}
          label={t('Back to the line')}
          onAct={() => {
            isWorkOpen.value = false;
          }}
        >
          {t('Back to the line')}
        </HoldButton>
      )}
    </section>
  );
}

/** Cautions that gate stand where the eye is, with their own button. */
function Gating({ page }: { page: StagePage }) {
  const asked = page.cautions.filter((c) => c.gates && !c.read);
  if (asked.length === 0) return null;
  return (
    <section class="gating" aria-label={t('Cautions to confirm')}>
      {asked.map((c) => (
        <Confirm key={c.id} caution={c} />
      ))}
    </section>
  );
}

function Cautions({ page }: { page: StagePage }) {
  if (page.cautions.length === 0) return null;
  return (
    <section class="cautions" aria-label={t('Cautions')}>
      <h3>{t('Mind')}</h3>
      <ul>
        {page.cautions
          .filter((c) => !c.gates || c.read)
          .map((c) => (
            <li key={c.id}>
              <b>{c.title}.</b> {c.text}
              {c.gates && <em> {t('Confirmed.')}</em>}
            </li>
          ))}
      </ul>
      <p class="defer">{t('Local codes and licensed practice decide.')}</p>
    </section>
  );
}

function Checks({ page }: { page: StagePage }) {
  if (page.checks.length === 0) return null;
  return (
    <section class="checks" aria-label={t('To tick')}>
      {page.checks.map((c) => (
        <HoldButton
          key={c.id}
          className={`check${c.done ? ' is-done' : ''}`}
          hold={false}
          label={`${c.label}: ${c.done ? t('ticked') : t('not ticked')}`}
          onAct={() => post({ event: 'check', note: c.id, label: c.label, data: { done: !c.done } })}
        >
          <span class="box" aria-hidden="true">
            {c.done ? '\u2713' : ''}
          </span>
          {c.label}
        </HoldButton>
      ))}
    </section>
  );
}

/** With `below`, what stands in the last column is told in a line under each row: a sentence has no room beside the figures. */
function TableView({ page, below = false }: { page: StagePage; below?: boolean }) {
  if (page.table === null) return null;
  const { title, head, rows } = page.table;
  const columns = below ? head.slice(0, -1) : head;
  return (
    <section class="stage-table">
      <table>
        <caption>{title}</caption>
        <thead>
          <tr>
            {columns.map((cell, i) => (
              <th key={`${i} ${cell}`} scope="col">
                {cell}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map(([name = '', ...cells]) => {
            const note = below ? cells.pop() : undefined;
            return (
              <Fragment key={name}>
                <tr class={cells.includes(told('OUTSIDE')) ? 'is-outside' : ''}>
                  <th scope="row">{name}</th>
                  {cells.map((cell, i) => (
                    <td key={`${i} ${head[i + 1]}`} class={!below && i === cells.length - 1 ? 'note' : ''}>
                      {cellText(cell)}
                    </td>
                  ))}
                </tr>
                {note !== undefined && note !== '' && (
                  <tr class="is-below">
                    <td class="note" colSpan={columns.length}>
                      {head.at(-1)}: {note}
                    </td>
                  </tr>
                )}
              </Fragment>
            );
          })}
        </tbody>
      </table>
    </section>
  );
}

function Missing({ page }: { page: StagePage }) {
  return (
    <section class={`gate${page.missing.length === 0 ? ' is-open' : ''}`} aria-label={t('Before the next stage')}>
      <h3>
        {isSigned(page)
          ? t('Signed')
          : page.missing.length === 0
            ? t('Nothing is missing: the next stage may begin')
            : t('Before the next stage')}
      </h3>
      {page.missing.length > 0 && (
        <ul>
          {page.missing.map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      )}
    </section>
  );
}

/** The rinse goes by its chart: gate and chart are seen whole, whatever stands over them. */
function Sight({ page }: { page: StagePage }) {
  return (
    <div class="sight">
      {view.value?.sealed !== true && <Missing page={page} />}
      <div class="stage-trace">
        <Trace />
      </div>
    </div>
  );
}

/** What concerns the page as a whole: units, rest, report. */
function Foot({ page }: { page: StagePage }) {
  const pause = () => {
    const button = {
      id: 'pause',
      label: t('Pause'),
      event: 'pause',
      emitter: '',
      note: '',
      hold: false,
      primary: false,
      why: true,
    };
    asking.value = { button, reasons: view.value?.reasons.pause ?? [] };
  };
  // The report holds names and pictures of a home: the bridge gives it to devices that it knows.
  const isKnown = me.value?.mayWrite !== false;
  const isSealed = view.value?.sealed === true;
  return (
    <footer class="stage-foot">
      {isKnown && !isSealed && (
        <>
          <span>{t('Units')}</span>
          <UnitsChoice />
        </>
      )}
      {mayWork.value && !isSealed && view.value?.paused === null && !isSigned(page) && (
        <HoldButton className="tool" hold={false} label={t('Pause')} onAct={pause}>
          {t('Pause')}
        </HoldButton>
      )}
      <PutRightButton />
      <LinkDetail />
      {isKnown && (
        <>
          <a class="tool" href="/api/runs/current/report.pdf" target="_blank" rel="noreferrer">
            {page.name === 'hand-over' ? t('Open the report') : t('Report so far')}
          </a>
          <a class="tool" href="/api/runs/current/report.pdf?paper=letter" target="_blank" rel="noreferrer">
            {t('on Letter')}
          </a>
        </>
      )}
      {isKnown && page.name === 'hand-over' && (
        <a class="tool" href="/api/runs/current/label.pdf" target="_blank" rel="noreferrer">
          {t('The label')}
        </a>
      )}
    </footer>
  );
}

/** Where a photo is part of the work, and what it usually shows. */
const photosOf: Readonly<Record<string, Phrase>> = {
  'before-samples': 'Mains and system water, before',
  join: 'The rig joined in',
  'after-samples': 'Mains and system water, after',
  protect: 'Sludge from the chambers',
  'hand-over': 'The system as it was left',
};

/** One shape for every stage but the emitters: what it is, what to do now, figures beside bands, inputs, the way on. */
export function StagePageView({ page }: { page: StagePage }) {
  // Before, after and limit side by side is what the samples are for: it comes first.
  const isSealed = view.value?.sealed === true;
  const isKnown = me.value?.mayWrite !== false;
  const photo = photosOf[page.name];
  const hasTests = page.name.endsWith('-samples') && page.table !== null;
  return (
    <main class="stage" data-stage={page.name}>
      <Strip />
      <div class="stage-top">
        <Alarms />
        <Head page={page} />
      </div>
      <TimeLine />
      <div class="stage-body" key={page.name}>
        <div class="stage-left" tabIndex={0} role="region" aria-label={t('What to do and the figures now')}>
          {page.warnings.map((warning) => (
            <p key={warning} class="warning" role="status">
              {warning}
            </p>
          ))}
          {hasTests && <TableView page={page} below />}
          <ol class="steps">
            {page.steps.map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
          <Conditions conditions={page.conditions} />
          {page.remarks.map((remark) => (
            <p key={remark} class="remark">
              {remark}
            </p>
          ))}
          {!hasTests && <TableView page={page} />}
          <Cautions page={page} />
        </div>
        <div class="stage-right">
          {page.name === 'rinse' ? <Sight page={page} /> : !isSealed && <Missing page={page} />}
          {mayWork.value && <Deeds page={page} />}
          {isKnown && (
            <>
              <Checks page={page} />
              <Gating page={page} />
              {page.survey !== null && <SurveyView survey={page.survey} />}
              {!isSealed &&
                page.forms
                  .filter((form) => form.event !== 'limit')
                  .map((form) => <FormView key={form.id} form={form} />)}
              {!isSealed && <LimitsView page={page} />}
            </>
          )}
          {page.name === 'hand-over' && <RecordView isSigned={isSigned(page)} />}
          {photo !== undefined && <Photos about={t(photo)} />}
          <Foot page={page} />
        </div>
      </div>
      <div class="stage-aside">{!isSealed && <Aside />}</div>
      {(!isSealed || !isKnown) && <Actions />}
      <Why />
      <PutRight />
    </main>
  );
}
