/** Cut bytes at the given places (any numbers; taken modulo the length), as a link may. */
export function cutAt(bytes: Uint8Array, places: readonly number[]): Uint8Array[] {
  const at = [...new Set(places.map((p) => p % (bytes.length + 1)))].sort((a, b) => a - b);
  const edges = [0, ...at, bytes.length];
  return edges.slice(1).map((to, i) => bytes.slice(edges[i], to));
}

export function joined(chunks: readonly Uint8Array[]): Uint8Array {
  return Uint8Array.from(chunks.flatMap((chunk) => [...chunk]));
}
