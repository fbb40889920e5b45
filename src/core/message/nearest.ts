/** The known name that is fewest typing slips away from `word`, or null when none is near. */
export function nearest(word: string, names: readonly string[]): string | null {
  let best: string | null = null;
  let least = Math.floor((word.length + 1) / 3) + 1;
  for (const name of names) {
    const slips = distance(word, name);
    if (slips < least) [best, least] = [name, slips];
  }
  return best;
}

/** Slips between two words: a letter too many, one missing, one wrong, or two neighbours swapped. */
function distance(a: string, b: string): number {
  let before: number[] = [];
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const replace = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      const isSwap = i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1];
      const swap = isSwap ? (before[j - 2] ?? 0) + 1 : replace;
      next.push(Math.min(replace, swap, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    before = row;
    row = next;
  }
  return row[b.length] ?? 0;
}
