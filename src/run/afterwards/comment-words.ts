import type { CommentView } from '../../core/audit/page-schema.ts';

/** Keys of findings that stand closed. */
export function closedIn(comments: readonly CommentView[]): Set<string> {
  const closed = new Set<string>();
  for (const { kind, finding } of comments) {
    if (kind === 'close') closed.add(finding);
    if (kind === 'reopen') closed.delete(finding);
  }
  return closed;
}

/** A comment as one text, for the file beside the seal and for the report. */
export function spoken({ kind, finding, text }: Pick<CommentView, 'kind' | 'finding' | 'text'>): string {
  const about = {
    comment: '',
    'sign-off': 'Signed off. ',
    close: `Finding ${finding} closed: `,
    reopen: `Finding ${finding} open again. `,
  };
  return `${about[kind]}${text}`.trim() || 'Signed off.';
}
