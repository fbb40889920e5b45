import { say } from '../message/message.ts';
import type { Gathered } from './gather.ts';
import type { Evidence } from './rule.ts';

/** What the tool remarked while it ran, once with all its times, when it came more often than `times`. */
export function noticed(run: Gathered, code: string, times: number): Evidence[] {
  const all = run.driven.notices.filter((n) => n.reason.code === code);
  const [first] = all;
  if (!first || all.length <= times) return [];
  const text = say({ code, params: first.reason.figures });
  return [
    {
      subject: '',
      params: { text, times: all.length },
      spans: all.map((n) => [n.atS, n.atS] as const),
      figures: { times: all.length, ...first.reason.figures },
    },
  ];
}
