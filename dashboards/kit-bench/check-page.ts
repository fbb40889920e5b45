import type { CheckPoint, CheckResult } from '../../src/core/job/bench-schema.ts';

const escape = (text: string): string =>
  text.replace(/[&<>"]/g, (c) => ({ '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' })[c] ?? c);
const words = { ok: 'ok', fix: 'TO FIX', 'not-seen': 'not seen' } as const;

const ranks = { fix: 0, 'not-seen': 1, ok: 2 } as const;

/** What asks for a hand first, each kind in the order in which one would mend it. */
export function inOrder(result: CheckResult): readonly CheckPoint[] {
  return result.points.toSorted((a, b) => ranks[a.state] - ranks[b.state]);
}

/** A check in few words; what was not seen is not passed over. */
export function checkTitle(result: CheckResult): string {
  const count = (state: CheckPoint['state']) => result.points.filter((p) => p.state === state).length;
  const fixes = count('fix');
  const unseen = count('not-seen');
  const said = fixes === 0 ? 'Nothing to fix' : `${fixes} to fix`;
  return unseen === 0 ? said : `${said}, ${unseen} not seen`;
}

/** The result as one page that stands alone, to be sent to whoever helps. */
export function checkPage(result: CheckResult): string {
  const rows = inOrder(result).map(
    (p) =>
      `<tr><td>${words[p.state]}</td><th>${escape(p.title)}</th><td>${escape(p.text)} <i>${escape(p.next)}</i></td></tr>`,
  );
  return `<!doctype html>
<html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>Kit check of ${escape(result.at.slice(0, 10))}</title>
<style>body{font:17px/1.45 system-ui,sans-serif;margin:2rem auto;max-width:60rem;padding:0 1rem}
table{border-collapse:collapse}td,th{border-top:1px solid #767676;padding:.4rem .6rem;text-align:left;vertical-align:top}
td:first-child{white-space:nowrap}</style>
<h1>Kit check: ${checkTitle(result).replace('Nothing', 'nothing')}</h1>
<p>${escape(result.kit)}, firmware ${escape(result.firmware || 'not told')}, ${escape(result.at)}, ${result.seconds} s, held to ${escape(result.against)}</p>
<table>${rows.join('\n')}</table>
<h2>For programs</h2><pre>${escape(JSON.stringify(result))}</pre>
</html>
`;
}
