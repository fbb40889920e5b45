import { hostKit } from './build.ts';

/** Sends mutations of good commands; the sanitizers end the program at the first fault, so an answer a line is proof. */
export function mutated(count: number, seed: number): number {
  const good = [
    '[{"n":"do-hello","vb":true}]',
    '[{"bn":"urn:dev:ow:28aa_","n":"do-rate","u":"1/s","v":12.5}]',
    '[{"n":"do-zero","vs":"turbidity"}]',
  ];
  let state = seed;
  const random = (below: number): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 4294967296) * below);
  };
  const lines: string[] = [];
  for (let i = 0; i < count; i++) {
    const chars = (good[random(good.length)] ?? '').split('');
    for (let m = random(4); m >= 0; m--) {
      const at = random(chars.length + 1);
      const kind = random(3);
      if (kind === 0) chars.splice(at, 1);
      else if (kind === 1) chars.splice(at, 0, String.fromCharCode(32 + random(95)));
      else chars.splice(at, 1, '{}[]":,*\\0e-.'.charAt(random(13)));
    }
    lines.push(chars.join('') || 'x');
  }
  return hostKit(['commands'], `${lines.join('\n')}\n`)
    .trimEnd()
    .split('\n').length;
}
