import type { mqttTexts } from '../mqtt.ts';
import type { Text } from './figure.ts';
import { again, refused } from './transport.ts';

const login =
  'LIMPID_MQTT_USER und LIMPID_MQTT_PASSWORD setzen (oder mqtt_user und mqtt_password in der Einstellungsdatei).';

/** Sentences of kits on a broker and of the broker inside in German, by code. */
export const mqttDe: Record<keyof typeof mqttTexts, Text> = {
  'mqtt-no-host': (p) =>
    `${p['url']}: Eine Maschine dieses Namens ist hier nicht bekannt. Den Namen prüfen, oder die Adresse des Brokers in Zahlen angeben.`,
  'mqtt-no-broker': (p) =>
    `Unter ${p['url']} antwortet kein Broker. Läuft er, stimmt der Port (1883 offen, 8883 verschlüsselt), steht eine Firewall dazwischen?${again(p)}`,
  'mqtt-timeout': (p) =>
    `${p['url']} antwortet nicht rechtzeitig. Stimmt die Adresse, und ist diese Maschine im Netz des Brokers?${again(p)}`,
  'mqtt-not-mqtt': (p) =>
    `${p['url']} nimmt die Verbindung an, antwortet aber nicht wie ein Broker. Ist das sein MQTT-Port (1883 offen, 8883 verschlüsselt mit mqtts:, Web-Sockets mit ws:)? Ein Broker, dessen Verbindungen alle vergeben sind, tut dasselbe.${again(p)}`,
  'mqtt-tls': (p) =>
    `Die verschlüsselte Verbindung zu ${p['url']} ist gescheitert: ${p['what']}. Bei einem eigenen Zertifikat mit NODE_EXTRA_CA_CERTS auf dessen Datei starten.`,
  'mqtt-login': (p) => `Der Broker ${p['url']} lehnt die Anmeldung ab. ${login}`,
  'mqtt-client-id': (p) =>
    `Der Broker ${p['url']} nimmt die Client-Kennung dieser Brücke nicht an. Erlaubt er nur Kennungen aus einer Liste?`,
  'mqtt-busy': (p) => `Der Broker ${p['url']} sagt, dass er jetzt nicht dienen kann.${again(p)}`,
  'mqtt-banned': (p) =>
    `Der Broker ${p['url']} hat diese Brücke gesperrt. Wer ihn verwaltet, muss die Sperre aufheben.`,
  'mqtt-not-allowed': (p) =>
    `Der Broker ${p['url']} lässt diese Brücke ${p['topic']} nicht lesen. Ihrer Anmeldung das Recht dazu geben; docs/mqtt.md nennt alles, was sie braucht.`,
  'mqtt-refused': (p) => `Dem Broker ${p['url']} ließ sich nicht beitreten: ${p['what']}.${again(p)}`,
  'mqtt-gone': (p) =>
    `Der Broker ${p['url']} ist fort. Was Messkoffer inzwischen senden, wird behalten und kommt später.${again(p)}`,
  'mqtt-taken-over': (p) =>
    `Ein anderer Client hat den Platz dieser Brücke bei ${p['url']} eingenommen: Er hat dieselbe Kennung, ${p['id']}. Die zweite Brücke anhalten; ist es eine andere Maschine, ihr einen anderen Rechnernamen oder Datenordner geben, aus dem die Kennung entsteht.${p['once'] === undefined ? ' In einer halben Minute wird es wieder versucht.' : ''}`,
  'mqtt-no-kit': (p) =>
    `Der Broker ${p['url']} ist da, aber seit ${p['seconds']} s hat kein Messkoffer gesprochen. Zugehört wird: ${p['filters']}. Ist der Messkoffer an, im WLAN, und auf diesen Broker eingestellt?`,
  'mqtt-kit-silent': (p) =>
    `Der Messkoffer ${p['kit']} hat seit ${p['seconds']} s über ${p['url']} nichts gesagt. Ist er an, und reicht das WLAN, wo er steht?`,
  'mqtt-kit-lost': (p) =>
    `Der Broker ${p['url']} hat den Messkoffer ${p['kit']} verloren: Strom oder WLAN ist fort. Er wird von selbst aufgenommen, wenn er wiederkommt.`,
  'mqtt-no-pack': (p) =>
    `${p['messages']} Nachrichten von ${p['kit']} kamen über ${p['url']}, aber kein einziges gutes Paket. ${
      p['why'] === undefined ? 'Sendet seine Firmware, was docs/wire.md sagt?' : refused(p)
    } Ein Messkoffer anderer Bauart braucht eine Zuordnungsdatei (docs/mapping.md).`,
  'broker-inside': (p) =>
    `Messkoffer können an Port ${p['port']} dieser Maschine mit MQTT 3.1.1 senden (docs/mqtt.md): Client-Kennung = Name des Messkoffers.`,
  'broker-open': () =>
    'Jeder Client in diesem Netz kann als Messkoffer senden. Um eine Anmeldung zu verlangen, LIMPID_MQTT_USER und LIMPID_MQTT_PASSWORD setzen.',
  'broker-port-taken': (p) =>
    `Port ${p['port']} ist belegt: Auf dieser Maschine läuft ein anderer Broker. Diesen benutzen (--mqtt mqtt://127.0.0.1:${p['port']}), oder einen anderen Port nennen (--broker 18830).`,
  'broker-port-denied': (p) =>
    `Port ${p['port']} dürfen Sie nicht öffnen (${p['what']}). Einen ab 1024 nehmen, etwa --broker 1883.`,
  'broker-version': (p) =>
    `Der Client ${p['client']} hat vom eingebauten Broker MQTT ${p['version']} verlangt; er spricht nur 3.1.1. Den Messkoffer auf 3.1.1 stellen, oder mit --mqtt einen eigenen Broker benutzen.`,
  'broker-login': (p) =>
    `Der Client ${p['client']} wurde nicht eingelassen: Seine Anmeldung ist falsch. Es muss die von LIMPID_MQTT_USER und LIMPID_MQTT_PASSWORD sein.`,
  'broker-topic': (p) =>
    `Der Client ${p['client']} wollte an ${p['topic']} senden und wurde hinausgewiesen: Er darf nur an ${p['allowed']} senden. Seine Client-Kennung auf den Namen des Messkoffers stellen.`,
  'broker-read': (p) =>
    `Der Client ${p['client']} wollte ${p['topic']} lesen und durfte nicht: Ein Messkoffer darf nur ${p['allowed']} lesen. Wer mehr braucht, braucht mit --mqtt einen eigenen Broker.`,
  'broker-full': (p) =>
    `Der Client ${p['client']} wurde abgewiesen: Der eingebaute Broker bedient höchstens ${p['limit']} Clients. Mit --mqtt einen eigenen Broker benutzen.`,
  'broker-too-big': (p) =>
    `Der Client ${p['client']} hat ein Paket von über ${p['limit']} Byte gesendet und wurde hinausgewiesen: Ein Paket hat höchstens 1024.`,
  'broker-too-fast': (p) =>
    `Der Client ${p['client']} hat mehr Pakete gesendet als jeder Messkoffer und wurde hinausgewiesen. Er darf wiederkommen.`,
  'broker-name': (p) =>
    `Der Client ${p['client']} durfte nicht: Seine Client-Kennung ist kein Name eines Messkoffers. Sie auf dessen Namen stellen, nur Buchstaben, Ziffern und - : .`,
  'broker-taken': (p) =>
    `Ein Client bei ${p['address']} kam als ${p['client']}, der von anderswo zu hören ist, und wurde nicht eingelassen. Hat ein Messkoffer eine neue Adresse, wird er eingelassen, wenn die alte 15 s geschwiegen hat. Sind LIMPID_MQTT_USER und LIMPID_MQTT_PASSWORD gesetzt, kann es kein Fremder versuchen.`,
  'broker-broken': (p) => `Der Client ${p['client']} wurde hinausgewiesen: ${p['what']}.`,
};
