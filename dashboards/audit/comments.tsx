import { useState } from 'preact/hooks';
import type { CommentView, RunPage } from '../../src/core/audit/page-schema.ts';
import { bridge, type NewComment } from './client.ts';
import { typed } from './form.ts';
import { may, sentence } from './model.ts';
import { moment } from './words.ts';
import { NameField, writerName } from './writer.tsx';

const kinds: Readonly<Record<CommentView['kind'], string>> = {
  comment: '',
  'sign-off': 'Signed off',
  close: 'Finding closed',
  reopen: 'Finding open again',
};

/** What the office says of the run: beside the record, which never changes. */
export function Comments({ page, changed }: { page: RunPage; changed: (page: RunPage) => void }) {
  const [wrong, setWrong] = useState<string | null>(null);
  const write = (form: HTMLFormElement, kind: NewComment['kind']): void => {
    const text = typed(form, 'text');
    bridge.comment(page.run.runId, { kind, text, by: writerName(form) }).then(
      (answer) => {
        changed(answer);
        setWrong(null);
        form.reset();
      },
      (error: unknown) => setWrong(sentence(error)),
    );
  };
  return (
    <section class="comments" aria-label="Comments">
      <h3>Comments</h3>
      <p class="quiet">They stand beside the record and are never changed. The seal does not cover them.</p>
      {page.comments.length === 0 && <p>None yet.</p>}
      <ol>
        {page.comments.map((c, i) => (
          // biome-ignore lint/suspicious/noArrayIndexKey: comments are only added
          <li key={i}>
            <p class="quiet">
              {c.by}, {moment(c.writtenAt)} UTC
            </p>
            <p>
              {kinds[c.kind] !== '' && (
                <b>
                  {kinds[c.kind]}
                  {c.finding ? ` (${c.finding})` : ''}
                  {c.text ? ': ' : '.'}
                </b>
              )}
              {c.text}
            </p>
          </li>
        ))}
      </ol>
      {may('auditor') && (
        <form
          onSubmit={(event) => {
            event.preventDefault();
            write(event.currentTarget, event.submitter?.dataset['kind'] === 'sign-off' ? 'sign-off' : 'comment');
          }}
        >
          <label>
            Words
            <textarea name="text" rows={3} maxLength={4000} />
          </label>
          <NameField />
          <p class="row">
            <button type="submit" class="go" data-kind="comment">
              Comment
            </button>
            <button type="submit" data-kind="sign-off">
              Sign off the run
            </button>
          </p>
          {wrong !== null && <p class="warn">{wrong}</p>}
        </form>
      )}
    </section>
  );
}
