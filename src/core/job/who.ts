const plain: Readonly<Record<string, string>> = {
  loopback: 'at the bridge itself',
  kit: 'the kit',
  bridge: 'the bridge',
  import: 'from a recording',
  replay: 'from a recording',
};

/** Who entered something, for people: an entry names a paired device by `device-` and the beginning of its key. */
export function whoWords(who: string): string {
  return plain[who] ?? who.replace(/^device-/, 'paired device ');
}
