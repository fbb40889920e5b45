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
  'In the settings of the tablet, search for "certificate" and install it as a CA certificate. Some take it as a profile, and want it switched on besides, under the trusted certificates.':
    'In den Einstellungen des Tablets nach „Zertifikat“ suchen und es als CA-Zertifikat installieren. Manche nehmen es als Profil und wollen es außerdem unter den vertrauten Zertifikaten eingeschaltet haben.',
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
  'Where adb knows the tablet on a USB cable, the tablet reaches the bridge as its own machine. On the bridge:':
    'Wo adb das Tablet an einem USB-Kabel kennt, erreicht es die Brücke wie seine eigene Maschine. Auf der Brücke:',
  'Then open on the tablet': 'Dann auf dem Tablet öffnen:',
  '3. By a switch of the browser': '3. Über einen Schalter des Browsers',
  'For tablets of the firm, in a browser that has this page: open':
    'Für Tablets der Firma, in einem Browser, der diese Seite hat: öffnen Sie',
  'enter this address, enable it and start the browser anew:':
    'tragen Sie diese Adresse ein, schalten Sie ein und starten Sie den Browser neu:',
  'Back to the rig': 'Zurück zum Gerät',
} as const;
