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

/** Levenshtein distance: insertions, deletions and replacements that turn one word into the other. */
function distance(a: string, b: string): number {
  let row = Array.from({ length: b.length + 1 }, (_, i) => i);
  for (let i = 1; i <= a.length; i++) {
    const next = [i];
    for (let j = 1; j <= b.length; j++) {
      const replace = (row[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      next.push(Math.min(replace, (row[j] ?? 0) + 1, (next[j - 1] ?? 0) + 1));
    }
    row = next;
  }
  return row[b.length] ?? 0;
}
