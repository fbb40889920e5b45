/** What the system says by a code, in plain words. */
const words: Readonly<Record<string, string>> = {
  ENOENT: 'there is no such file',
  ENOTDIR: 'part of its path is a file, not a folder',
  EISDIR: 'it is a folder',
  EACCES: 'this user may not open it',
  EPERM: 'this user may not do that',
  EROFS: 'the disk is read-only',
  ENOSPC: 'the disk is full',
};

/** Why something failed, for the end of a sentence that names the file: the system's codes in words, else what was thrown, on one line. */
export function causeOf(error: unknown): string {
  if (!(error instanceof Error)) return String(error);
  const word = 'code' in error ? words[String(error.code)] : undefined;
  return word ?? error.message.replaceAll(/\s+/g, ' ');
}
