/** German of the emitters and of the stages after them, and of the reasons to go another way. */
export const plainRun: Readonly<Record<string, string>> = {
  // The soft hyphen: where the time line is too narrow, the word breaks there.
  'Emitter by emitter': 'Heiz\u00adkörper einzeln',
  'Open one emitter, shut all others': 'Einen Heizkörper öffnen, alle anderen schließen',
  'Open one emitter, shut all others.': 'Einen Heizkörper öffnen, alle anderen schließen.',
  'Shake its lower edge in four to five sweeps, press Pass done, and watch the return.':
    'Die Unterkante in vier bis fünf Zügen rütteln, „Durchgang fertig“ drücken und den Rücklauf ansehen.',
  'Repeat until a pass brings nothing; then the next.':
    'Wiederholen, bis ein Durchgang nichts bringt; dann der nächste.',
  'Solids carried in all': 'Feststoffe insgesamt',
  'Chamber, loaded': 'Kammer, beladen',
  'Vibration of the hands today': 'Schwingung der Hände heute',
  points: 'Punkte',
  'type the tool’s figure': 'Wert des Werkzeugs eintippen',
  'Chamber emptied': 'Kammer geleert',
  'Flow reversed': 'Durchfluss umgekehrt',
  'Flow forward again': 'Durchfluss wieder vorwärts',
  Vented: 'Entlüftet',
  'Pump stopped': 'Pumpe angehalten',
  'Pump started': 'Pumpe angestellt',
  'Vibration of the shaking tool': 'Schwingung des Rüttelwerkzeugs',
  'Of the tool': 'Des Werkzeugs',
  'From the tool’s own sheet; what the hand feels is often more. Passes are taken as time on the trigger.':
    'Vom Blatt des Werkzeugs; was die Hand spürt, ist oft mehr. Durchgänge gelten als Zeit am Abzug.',
  'Points of earlier work today': 'Punkte früherer Arbeit heute',
  Points: 'Punkte',
  'Typed again it begins the day anew, with these points.':
    'Noch einmal eingetippt beginnt der Tag neu, mit diesen Punkten.',
  'What the chamber holds': 'Was die Kammer fasst',
  'Full at': 'Voll bei',
  'Dry solids, until it is full.': 'Trockene Feststoffe, bis sie voll ist.',
  'What each one gave; solids are estimates': 'Was jeder gab; Feststoffe sind geschätzt',
  Passes: 'Durchgänge',
  Pulses: 'Pulse',
  'Peak, NTU': 'Spitze, NTU',
  'Solids, g': 'Feststoffe, g',
  'Circulate hot': 'Heiß umwälzen',
  'Fill the emitters full, open all, keep it hot and flowing':
    'Heizkörper voll füllen, alle öffnen, heiß und in Fluss halten',
  'Fill the emitters full and vent them; top the pressure up.':
    'Heizkörper voll füllen und entlüften; den Druck nachfüllen.',
  'All open, heat high, pump on.': 'Alle offen, Wärme hoch, Pumpe an.',
  'Let it go round for 20 minutes: the clock counts only while flow and temperature are in their bands.':
    '20 Minuten umlaufen lassen: Die Uhr zählt nur, solange Durchfluss und Temperatur in ihren Grenzen sind.',
  'Then heat source off; read the two cautions of the rinse below.':
    'Dann Wärmeerzeuger aus; die beiden Warnungen zum Nachspülen unten lesen.',
  Counted: 'Gezählt',
  'Emitters full again and vented': 'Heizkörper wieder voll und entlüftet',
  'All emitters open': 'Alle Heizkörper offen',
  'Minutes wanted': 'Gewünschte Minuten',
  'Rinse cold': 'Kalt nach\u00adspülen',
  'Isolate the heat source; hose to the foul drain; mains in':
    'Wärmeerzeuger absperren; Schlauch zum Schmutzwasser; Netzwasser an',
  'Heat source isolated': 'Wärmeerzeuger abgesperrt',
  'Switch the heat source off, isolate it electrically and secure it, so that nobody can switch it on while cold water runs through.':
    'Wärmeerzeuger abschalten, elektrisch trennen und sichern, damit niemand ihn einschalten kann, während kaltes Wasser läuft.',
  'To the foul drain': 'Zum Schmutzwasser',
  'Lead the hose to a foul drain, as the local rules for discharge allow. Never to a surface drain, a soakaway or a garden.':
    'Den Schlauch zum Schmutzwasser führen, wie die örtlichen Einleitregeln es erlauben. Nie zum Regenwasser, in eine Versickerung oder den Garten.',
  'Heat source off and isolated; hose from the drain-off to the foul drain.':
    'Wärmeerzeuger aus und abgesperrt; Schlauch vom Ablass zum Schmutzwasser.',
  'Shut all but the furthest emitter, then let cold mains in.':
    'Alle bis auf den entferntesten Heizkörper schließen, dann kaltes Netzwasser einlassen.',
  'Open the emitters one after the other, furthest first; the return tells when the water is the mains’ own.':
    'Die Heizkörper nacheinander öffnen, den entferntesten zuerst; der Rücklauf sagt, wann es Netzwasser ist.',
  'Stop when it says at mains level.': 'Aufhören, wenn „Wie Netzwasser“ dasteht.',
  'Cleaner left, of its dose': 'Reiniger übrig, von der Zugabe',
  'Water used': 'Wasserverbrauch',
  'Test the water after': 'Wasser nachher prüfen',
  'Test the system water again': 'Anlagenwasser noch einmal prüfen',
  'Test the system water again.': 'Anlagenwasser noch einmal prüfen.',
  'Shut the mains off and let the water go round until its figures stand.':
    'Netzwasser schließen und das Wasser umlaufen lassen, bis seine Werte stehen.',
  'Take a sample of the system water and test it as before.':
    'Eine Probe des Anlagenwassers nehmen und wie vorher prüfen.',
  'Keep a photo of it beside the one from before.': 'Ein Foto davon neben dem von vorher behalten.',
  'System water, after': 'Anlagenwasser, nachher',
  'Inhibitor, share of the label strength': 'Inhibitor, Anteil der Etikettstärke',
  'Refit and protect': 'Rückbau und Schutz',
  'Refit the filter, add inhibitor, set the pressure, vent':
    'Filter einbauen, Inhibitor zugeben, Druck einstellen, entlüften',
  'Take the rig off; refit and clean the in-line filter.':
    'Das Gerät abnehmen; den Leitungsfilter säubern und einbauen.',
  'Add the inhibitor at the rate of its label, and let it go round.':
    'Den Inhibitor in der Menge seines Etiketts zugeben und umlaufen lassen.',
  'Set the cold pressure, vent, set it again; filling loop off.':
    'Kaltdruck einstellen, entlüften, wieder einstellen; Füllschlauch ab.',
  'Heat, and feel that each emitter gets hot. Check the strength with the label’s own test.':
    'Heizen und fühlen, ob jeder Heizkörper heiß wird. Die Stärke mit der Prüfung des Etiketts nachsehen.',
  'Strength by the label’s test': 'Stärke nach der Prüfung des Etiketts',
  'Rig off, in-line filter refitted and clean': 'Gerät ab, Leitungsfilter sauber eingebaut',
  'Vented, pressure set': 'Entlüftet, Druck eingestellt',
  'Each emitter heats': 'Jeder Heizkörper heizt',
  'Label rate of the inhibitor': 'Etikettmenge des Inhibitors',
  'Litres of inhibitor added': 'Zugegebene Liter Inhibitor',
  'Of the label’s strength': 'Von der Etikettstärke',
  'Cleaner that the inhibitor stands': 'Reiniger, den der Inhibitor verträgt',
  'Cleaner left that the inhibitor stands': 'Restreiniger, den der Inhibitor verträgt',
  'Sludge, weighed': 'Schlamm, gewogen',
  Sludge: 'Schlamm',
  'It was': 'Er war',
  wet: 'nass',
  dry: 'trocken',
  'Hand over': 'Übergeben',
  'Leave the record and the label with the client': 'Protokoll und Etikett beim Kunden lassen',
  'Open the report and go through its first page with the client.':
    'Den Bericht öffnen und die erste Seite mit dem Kunden durchgehen.',
  'Leave the record and the label at the heat source.': 'Protokoll und Etikett am Wärmeerzeuger lassen.',
  'Sign: after that the record is sealed, and remarks stand beside it.':
    'Unterschreiben: Danach ist das Protokoll versiegelt, und Bemerkungen stehen daneben.',
  'Emitters worked on': 'Heizkörper bearbeitet',
  Skipped: 'Ausgelassen',
  Rinse: 'Nachspülen',
  'not told': 'nicht gesagt',
  Inhibitor: 'Inhibitor',
  'Next check': 'Nächste Prüfung',
  Photos: 'Fotos',
  'Months to the next check': 'Monate bis zur nächsten Prüfung',
  months: 'Monate',
  'Signed by': 'Unterschrieben von',
  Engineer: 'Monteur',
  'Client, or who took it over': 'Kunde, oder wer übernahm',
  Place: 'Ort',
  'Sign and hand over': 'Unterschreiben und übergeben',
  Baseline: 'Grundlinie',
  'All emitters open, pump on: let the return settle':
    'Alle Heizkörper offen, Pumpe an: Den Rücklauf sich beruhigen lassen',
  'Run ended': 'Lauf beendet',
  'Nothing more to do here': 'Hier ist nichts mehr zu tun',
  'Not needed on this system': 'An dieser Anlage nicht nötig',
  'Done before this run': 'Vor diesem Lauf getan',
  'Cannot be reached today': 'Heute nicht zu erreichen',
  'No sensor for it': 'Kein Fühler dafür',
  'Checked by other means': 'Anders geprüft',
  'Client asked for it': 'Der Kunde wünschte es',
  'Out of time today': 'Heute keine Zeit mehr',
  'Something went wrong: again': 'Etwas ging schief: noch einmal',
  'Over night': 'Über Nacht',
  'Waiting for parts': 'Warten auf Teile',
  'Waiting for people': 'Warten auf Leute',
  'Something is wrong': 'Etwas stimmt nicht',
};
