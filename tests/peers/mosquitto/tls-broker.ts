import { createPublicKey } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { type Made, makeAuthority, makeCertificate, pem } from '../../../src/server/tls/certificate.ts';
import { freePort, mosquitto, type Mosquitto } from './broker.ts';

/** A broker with a certificate of a firm's own authority, that can be changed for another, better or worse. */
export interface TlsBroker extends Mosquitto {
  readonly tlsUrl: string;
  /** PEM text of the authority that a client is told to trust. */
  readonly ca: string;
  good(): Made;
  /** Name, certificate, and what is said of it. */
  bad(): readonly (readonly [string, Made, RegExp])[];
  /** The broker is started anew with it. */
  show(certificate: Made): Promise<void>;
}

const dayMs = 86_400_000;

export async function tlsBroker(folder: string): Promise<TlsBroker> {
  const [authority, other] = [makeAuthority('Firm', Date.now()), makeAuthority('Firm', Date.now())];
  const here = ['127.0.0.1', 'localhost'];
  const by = ({ key }: Made, names: readonly string[], atMs = Date.now()): Made =>
    makeCertificate({ key, publicKey: createPublicKey(key), subject: 'Firm' }, names, atMs);
  const write = (made: Made): void => {
    writeFileSync(join(folder, 'cert.pem'), pem(made.der));
    writeFileSync(join(folder, 'key.pem'), String(made.key.export({ type: 'pkcs8', format: 'pem' })));
  };
  write(by(authority, here));
  const port = await freePort();
  const broker = await mosquitto([
    'allow_anonymous true',
    `listener ${port} 127.0.0.1`,
    `certfile ${folder}/cert.pem`,
    `keyfile ${folder}/key.pem`,
  ]);
  return {
    ...broker,
    tlsUrl: `mqtts://127.0.0.1:${port}`,
    ca: pem(authority.der),
    good: () => by(authority, here),
    bad: () => [
      ['an expired one', by(authority, here, Date.now() - 1000 * dayMs), /expired/],
      ['one for another machine', by(authority, ['10.1.2.3']), /altnames/],
      ['one of another authority', by(other, here), /verify the first certificate|self-signed/],
    ],
    async show(made) {
      await broker.stop();
      write(made);
      await broker.start();
    },
  };
}
