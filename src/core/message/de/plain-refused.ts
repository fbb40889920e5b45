/** German of what stands within a refusal: what was expected, what was found, why a file or a disk would not do. */
export const plainRefused: Readonly<Record<string, string>> = {
  'a number': 'eine Zahl',
  'a table': 'eine Tabelle',
  'a value': 'ein Wert',
  'at least one': 'mindestens eine',
  'each item once': 'jeder Posten einmal',
  'each column once': 'jede Spalte einmal',
  'no such column': 'keine solche Spalte',
  'no survey': 'keine Aufnahme',
  'no figure': 'kein Wert',
  'no unit': 'keine Einheit',
  nothing: 'nichts',
  none: 'keine',
  any: 'beliebig',
  'at least one is expected': 'mindestens einer ist nötig',
  'words are expected, at most 200 characters': 'erwartet sind Worte, höchstens 200 Zeichen',
  'the least is no more than the most': 'das Mindeste ist nicht mehr als das Höchste',
  'sealed or open-vented': 'sealed oder open-vented',
  'at most 300': 'höchstens 300',
  'its length': 'seine Länge',
  'its number of sections': 'die Zahl seiner Glieder',
  'its length and height': 'seine Länge und Höhe',
  'its inner bore and tube length': 'seinen Innendurchmesser und seine Rohrlänge',
  'a weight: look for the volume rate on the label, in ml/l':
    'ein Gewicht: auf dem Etikett die Menge nach Volumen suchen, in ml/l',
  'a concentration for a strength test, no dose: look for ml/l':
    'eine Konzentration für die Prüfung der Stärke, keine Zugabe: ml/l suchen',
  'an amount without its water: give it for a volume, as ml/l':
    'eine Menge ohne ihr Wasser: für ein Volumen angeben, als ml/l',
  'an amount without its water: give it for a volume, as l/100 l':
    'eine Menge ohne ihr Wasser: für ein Volumen angeben, als l/100 l',
  'there is no such file': 'diese Datei gibt es nicht',
  'part of its path is a file, not a folder': 'ein Teil des Pfads ist eine Datei, kein Ordner',
  'it is a folder': 'es ist ein Ordner',
  'this user may not open it': 'dieser Benutzer darf sie nicht öffnen',
  'this user may not do that': 'dieser Benutzer darf das nicht',
  'the disk is read-only': 'die Platte ist schreibgeschützt',
  'the disk is full': 'die Platte ist voll',
};

/** The same with figures or names in it. */
export const refusedPatterns: readonly (readonly [RegExp, string])[] = [
  [/^one of (.+) is expected$/, 'erwartet ist eines von $1'],
  [/^one of (.+)$/, 'eines von $1'],
  [/^(\S+) to (\S+) is possible$/, 'möglich ist $1 bis $2'],
  [/^(\S+) to (\S+) (\S+) is possible$/, 'möglich ist $1 bis $2 $3'],
  [/^at least (\S+), at most (\S+)$/, 'mindestens $1, höchstens $2'],
  [/^at least (\S+)$/, 'mindestens $1'],
  [/^(\S+) twice$/, '$1 zweimal'],
  [/^(\d+) characters$/, '$1 Zeichen'],
  [/^(\d+) cells$/, '$1 Zellen'],
  [/^(\d+), as in the header$/, '$1, wie in der Kopfzeile'],
  [/^nothing in a row of kind (\S+)$/, 'nichts in einer Zeile der Art $1'],
  [/^line (\d+)$/, 'Zeile $1'],
  [/^(conductivity|turbidity) and (conductivity|turbidity)$/, '$1 und $2'],
  [/^(\d\S* .+?) or (\d.+)$/, '$1 oder $2'],
];
