import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { z } from 'zod';

/** Packages that run a program of theirs when they are installed, each looked at. Another one is refused. */
const mayRunAtInstall: Readonly<Record<string, string>> = {
  '@photostructure/sqlite': 'picks its prebuilt binary',
  '@serialport/bindings-cpp': 'picks its prebuilt binary',
  esbuild: 'checks its binary; for building only',
};

const specs = z.record(z.string(), z.string()).optional();
const entry = z.looseObject({
  version: z.string().optional(),
  resolved: z.string().optional(),
  integrity: z.string().optional(),
  link: z.boolean().optional(),
  dev: z.boolean().optional(),
  hasInstallScript: z.boolean().optional(),
  dependencies: specs,
  devDependencies: specs,
  optionalDependencies: specs,
});
const lockSchema = z.object({ lockfileVersion: z.literal(3), packages: z.record(z.string(), entry) });
const lockOf = (path: string) => lockSchema.parse(JSON.parse(readFileSync(path, 'utf8'))).packages;
const manifest = z
  .object({ dependencies: z.record(z.string(), z.string()), devDependencies: z.record(z.string(), z.string()) })
  .parse(JSON.parse(readFileSync('package.json', 'utf8')));

const lock = lockOf('package-lock.json');
const locked = Object.entries(lock).filter(([path]) => path !== '');
const nameOf = (path: string): string => path.split('node_modules/').at(-1) ?? path;

describe('the packages that are installed', () => {
  it('are each held to a SHA-512 of their content', () => {
    // 64 bytes in base64.
    const wrong = locked.filter(([, p]) => !/^sha512-[A-Za-z0-9+/]{86}==$/.test(p.integrity ?? ''));
    expect(wrong.map(([path]) => path)).toEqual([]);
  });

  it('come from the registry by name and version: no address, no repository, no folder', () => {
    expect(locked.filter(([, p]) => p.resolved !== undefined || p.link).map(([path]) => path)).toEqual([]);
    const asked = Object.values(lock).flatMap((p) =>
      [p.dependencies, p.devDependencies, p.optionalDependencies].flatMap((s) => Object.entries(s ?? {})),
    );
    expect(asked.length).toBeGreaterThan(locked.length);
    // Another name for a package of the registry is no other place.
    expect(asked.filter(([, spec]) => /[:/]/.test(spec.replace(/^npm:@?[\w.-]+(\/[\w.-]+)?@/, '')))).toEqual([]);
  });

  it('that we ask for are pinned to one version, the one in the lock file', () => {
    const ours = { ...manifest.dependencies, ...manifest.devDependencies };
    for (const [name, version] of Object.entries(ours)) {
      expect([name, version]).toEqual([name, expect.stringMatching(/^\d+\.\d+\.\d+$/)]);
      expect([name, lock[`node_modules/${name}`]?.version]).toEqual([name, version]);
    }
  });

  it('run nothing at their installation but what was looked at', () => {
    const running = locked.filter(([, p]) => p.hasInstallScript).map(([path]) => nameOf(path));
    expect(running.sort()).toEqual(Object.keys(mayRunAtInstall).sort());
  });

  it.skipIf(!existsSync('node_modules/.package-lock.json'))('are those of the lock file', () => {
    const installed = Object.entries(lockOf('node_modules/.package-lock.json'));
    expect(installed.length).toBeGreaterThan(100);
    const other = installed.filter(
      ([path, p]) => p.integrity !== lock[path]?.integrity || p.version !== lock[path]?.version,
    );
    expect(other.map(([path]) => path)).toEqual([]);
  });
});
