import { again, refused, type Texts } from './texts.ts';

/** Sentences of the transport room, by code: what is wrong, with what, what to do. */
export const transportTexts = {
  'transport-no-port': (p) =>
    `There is no port ${p['port']}. Plug the kit in; a bridge that runs takes it up by itself. Ports that are there: ${p['others']}.`,
  'transport-no-permission': (p) =>
    `You may not open ${p['port']}; it belongs to the group ${p['group']}. Run: sudo usermod -aG ${p['group']} $USER - then log out and in again, and start the bridge anew.`,
  'transport-busy': (p) =>
    `${p['port']} is in use by another program. Close it (a serial monitor, a second bridge); a bridge that runs then takes the port up by itself.`,
  'transport-open': (p) => `${p['port']} could not be opened: ${p['what']}.${again(p)}`,
  'transport-unplugged': (p) =>
    `The sensor cable is out (${p['port']}). Plug it in again; the kit is taken up by itself.`,
  'transport-silent': (p) =>
    `${p['port']} is open, but nothing has come for ${p['seconds']} s. Has the kit power? Does the cable carry data (some only charge)? Is this the kit's port?`,
  'transport-wrong-baud': (p) =>
    `${p['port']} gives bytes but no text at ${p['baud']} baud. Set the speed that the kit's firmware uses; if that is right, check the ground wire.`,
  'transport-no-pack': (p) =>
    `${p['port']} gives text but not one good pack in ${p['bytes']} bytes. ${
      p['why'] === undefined
        ? 'No line of it came to its end: is this the kit, and does its firmware print a line feed behind each pack (docs/wire.md)?'
        : refused(p)
    }`,
  'transport-raw-log': (p) =>
    `The raw log in ${p['folder']} is no longer written: ${p['what']}. The link goes on. Free space on the disk, then start the bridge anew.`,
  'transport-replay-failed': (p) => `The replay of ${p['source']} stopped: ${p['what']}.`,
} satisfies Texts;
