/** German of the page that says what a tablet may do. */
export const germanTrust = {
  'What this tablet may do': 'Was dieses Tablet darf',
  'This tablet reached the bridge by plain http. Watching, pressing, sound and the waiting queue work; these do not:':
    'Dieses Tablet hat die Brücke über einfaches http erreicht. Zusehen, Drücken, Ton und die Warteschlange gehen; dies nicht:',
  'This tablet may do everything here: nothing is left to be done.':
    'Dieses Tablet darf hier alles: Es ist nichts mehr zu tun.',
  '1. By https, with the certificate of this bridge': '1. Über https, mit dem Zertifikat dieser Brücke',
  'The bridge does not answer. Load this page again when it is back.':
    'Die Brücke antwortet nicht. Laden Sie diese Seite neu, wenn sie wieder da ist.',
  'This bridge was started without https. On its machine, stop it and start it with:':
    'Diese Brücke wurde ohne https gestartet. Halten Sie sie auf ihrer Maschine an und starten Sie sie mit:',
  'Fetch the certificate of its authority': 'Das Zertifikat ihrer Zertifizierungsstelle holen',
  'Its fingerprint, the same on the console of the bridge:':
    'Sein Fingerabdruck, derselbe wie auf der Konsole der Brücke:',
  'Android: Settings, search for "certificate", install it as a CA certificate. iPad: install the profile in Settings, then switch it on under General, About, Certificate Trust Settings.':
    'Android: Einstellungen, nach „Zertifikat“ suchen, als CA-Zertifikat installieren. iPad: das Profil in den Einstellungen installieren, dann unter Allgemein, Info, Zertifikatsvertrauenseinstellungen einschalten.',
  'Then open': 'Dann öffnen:',
  'and keep that on the home screen.': 'und auf dem Startbildschirm behalten.',
  'It can speak for private addresses and local names alone, so trusting it opens nothing else. Its key never leaves the bridge.':
    'Sie kann nur für private Adressen und örtliche Namen sprechen, also öffnet das Vertrauen nichts anderes. Ihr Schlüssel verlässt die Brücke nie.',
  'keep the screen on: set the tablet to sleep after 30 minutes instead':
    'die Anzeige anhalten: stattdessen das Tablet auf Schlaf nach 30 Minuten stellen',
  'open while the bridge is away: leave the page open instead, it loses nothing':
    'öffnen, während die Brücke fort ist: stattdessen die Seite offen lassen, sie verliert nichts',
  'be installed on the home screen': 'auf dem Startbildschirm installiert werden',
  'Three ways to get them; one is enough, once per tablet.': 'Drei Wege dahin; einer genügt, einmal je Tablet.',
  '2. By a cable': '2. Über ein Kabel',
  'An Android tablet on a USB cable of the bridge reaches it as its own machine. On the bridge:':
    'Ein Android-Tablet an einem USB-Kabel der Brücke erreicht sie wie seine eigene Maschine. Auf der Brücke:',
  'Then open on the tablet': 'Dann auf dem Tablet öffnen:',
  '3. By a switch of the browser': '3. Über einen Schalter des Browsers',
  'For tablets of the firm, in a browser of the Chromium family: open':
    'Für Tablets der Firma, in einem Browser der Chromium-Familie: öffnen Sie',
  'enter this address, enable it and start the browser anew:':
    'tragen Sie diese Adresse ein, schalten Sie ein und starten Sie den Browser neu:',
  'Back to the rig': 'Zurück zum Gerät',
} as const;
