import type { Migration } from './migrations.ts';

/** Certificates of calibration: each is set for good; a new calibration is a new one. */
export const certificates: Migration = {
  version: 2,
  sql: `
CREATE TABLE certificates (
  certificate INTEGER PRIMARY KEY,
  id   TEXT NOT NULL UNIQUE,
  kit  TEXT NOT NULL,
  body TEXT NOT NULL               -- JSON, as made
);
CREATE INDEX certificates_of_kit ON certificates (kit, certificate);
CREATE TRIGGER certificates_stay    BEFORE DELETE ON certificates BEGIN SELECT RAISE(ABORT, 'certificates are kept'); END;
CREATE TRIGGER certificates_are_set BEFORE UPDATE ON certificates BEGIN SELECT RAISE(ABORT, 'certificates are kept'); END;
`,
};
