/** Short lists kept in ascending order value by value: of each second of a run, so that nothing is sorted anew. */

/** Put a value in its place. */
export function insert(sorted: number[], value: number): void {
  let i = sorted.length;
  sorted.push(value);
  for (let below = sorted[i - 1]; below !== undefined && below > value; below = sorted[i - 1]) {
    sorted[i] = below;
    i -= 1;
  }
  sorted[i] = value;
}

/** Take one value of this size out; nothing happens where there is none. */
export function remove(sorted: number[], value: number): void {
  const at = sorted.indexOf(value);
  if (at < 0) return;
  for (let i = at + 1; i < sorted.length; i += 1) sorted[i - 1] = sorted[i] ?? value;
  sorted.pop();
}
