/** A person's name as it is compared: large and small letters are the same, and so are both ways to write an accent. */
export function comparable(name: string): string {
  return name.normalize('NFC').toLowerCase().normalize('NFC');
}
