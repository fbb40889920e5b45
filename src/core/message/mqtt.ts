import { again, refused, type Texts } from './texts.ts';

const login = 'Set LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD (or mqtt_user and mqtt_password in the settings file).';

/** Sentences of kits on a broker and of the broker inside, by code: what is wrong, with what, what to do. */
export const mqttTexts = {
  'mqtt-no-host': (p) =>
    `${p['url']}: no machine of that name is known here. Check the name, or give the broker's address in numbers.`,
  'mqtt-no-broker': (p) =>
    `No broker answers at ${p['url']}. Is it running, is the port right (1883 plain, 8883 encrypted), does a firewall stand between?${again(p)}`,
  'mqtt-timeout': (p) =>
    `${p['url']} does not answer in time. Is the address right, and this machine in the broker's network?${again(p)}`,
  'mqtt-not-mqtt': (p) =>
    `${p['url']} takes the connection but does not answer as a broker. Is this its MQTT port (1883 plain, 8883 encrypted with mqtts:, web sockets with ws:)? A broker that has all the connections it takes does the same.${again(p)}`,
  'mqtt-tls': (p) =>
    `The encrypted connection to ${p['url']} failed: ${p['what']}. For a certificate of your own, start with NODE_EXTRA_CA_CERTS set to its file.`,
  'mqtt-login': (p) => `The broker ${p['url']} refuses the login. ${login}`,
  'mqtt-client-id': (p) =>
    `The broker ${p['url']} does not accept this bridge's client id. Does it allow only ids from a list?`,
  'mqtt-busy': (p) => `The broker ${p['url']} says that it cannot serve now.${again(p)}`,
  'mqtt-banned': (p) => `The broker ${p['url']} has banned this bridge. Its administrator must lift the ban.`,
  'mqtt-not-allowed': (p) =>
    `The broker ${p['url']} does not let this bridge read ${p['topic']}. Give its login the right to read that topic; docs/mqtt.md lists all it needs.`,
  'mqtt-refused': (p) => `The broker ${p['url']} could not be joined: ${p['what']}.${again(p)}`,
  'mqtt-gone': (p) => `The broker ${p['url']} has gone. What kits send meanwhile is kept and comes later.${again(p)}`,
  'mqtt-taken-over': (p) =>
    `Another client took this bridge's place at ${p['url']}: it has the same id, ${p['id']}. Stop the second bridge; if it is another machine, give it another host name or data folder, from which the id is made.${p['once'] === undefined ? ' Tried again in half a minute.' : ''}`,
  'mqtt-no-kit': (p) =>
    `The broker ${p['url']} is there, but no kit has spoken for ${p['seconds']} s. Listened to: ${p['filters']}. Is the kit on, on the Wi-Fi, and set to this broker?`,
  'mqtt-kit-silent': (p) =>
    `The kit ${p['kit']} has said nothing for ${p['seconds']} s over ${p['url']}. Is it on, and is its Wi-Fi good enough where it stands?`,
  'mqtt-kit-lost': (p) =>
    `The broker ${p['url']} has lost the kit ${p['kit']}: its power or its Wi-Fi is gone. It is taken up by itself when it comes back.`,
  'mqtt-no-pack': (p) =>
    `${p['messages']} messages of ${p['kit']} came over ${p['url']}, but not one good pack. ${
      p['why'] === undefined ? 'Does its firmware publish what docs/wire.md says?' : refused(p)
    } A kit of another make needs a mapping file (docs/mapping.md).`,
  'broker-inside': (p) =>
    `Kits may publish to port ${p['port']} of this machine by MQTT 3.1.1 (docs/mqtt.md): client id = the kit's name.`,
  'broker-open': () =>
    'Every client in this network may publish as a kit. To ask for a login, set LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD.',
  'broker-port-taken': (p) =>
    `Port ${p['port']} is in use: another broker runs on this machine. Use that one (--mqtt mqtt://127.0.0.1:${p['port']}), or name another port (--broker 18830).`,
  'broker-port-denied': (p) =>
    `Port ${p['port']} may not be opened by you (${p['what']}). Take one from 1024 on, for instance --broker 1883.`,
  'broker-version': (p) =>
    `The client ${p['client']} asked the broker inside for MQTT ${p['version']}; it speaks 3.1.1 only. Set the kit to 3.1.1, or use a broker of your own with --mqtt.`,
  'broker-login': (p) =>
    `The client ${p['client']} was not let in: its login is wrong. It must be the one of LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD.`,
  'broker-topic': (p) =>
    `The client ${p['client']} tried to publish to ${p['topic']} and was thrown out: it may publish only to ${p['allowed']}. Set its client id to the kit's name.`,
  'broker-read': (p) =>
    `The client ${p['client']} asked to read ${p['topic']} and was not let: a kit may read only ${p['allowed']}. What needs more needs a broker of your own with --mqtt.`,
  'broker-full': (p) =>
    `The client ${p['client']} was turned away: the broker inside serves ${p['limit']} clients at most. Use a broker of your own with --mqtt.`,
  'broker-too-big': (p) =>
    `The client ${p['client']} sent a packet over ${p['limit']} bytes and was thrown out: a pack has at most 1024.`,
  'broker-too-fast': (p) =>
    `The client ${p['client']} sent more packets than any kit does and was thrown out. It may come back.`,
  'broker-name': (p) =>
    `The client ${p['client']} was not let: its client id is no name of a kit. Set it to the kit's name, letters, digits and - : . only.`,
  'broker-taken': (p) =>
    `A client at ${p['address']} came as ${p['client']}, which is heard from elsewhere, and was not let in. If a kit has got a new address, it is let in when the old one has been silent for 15 s. With LIMPID_MQTT_USER and LIMPID_MQTT_PASSWORD set, no stranger can try.`,
  'broker-broken': (p) => `The client ${p['client']} was thrown out: ${p['what']}.`,
} satisfies Texts;
