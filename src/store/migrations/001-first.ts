import type { Migration } from './migrations.ts';

/** Runs, their events and their samples. */
export const first: Migration = {
  version: 1,
  sql: `
CREATE TABLE runs (
  run    INTEGER PRIMARY KEY,
  run_id TEXT NOT NULL UNIQUE,
  head   TEXT NOT NULL              -- canonical JSON; its hash is the first event's prevHash
);
CREATE TABLE current (
  one INTEGER PRIMARY KEY CHECK (one = 1),
  run INTEGER REFERENCES runs (run)
);
INSERT INTO current VALUES (1, NULL);
CREATE TABLE events (
  run    INTEGER NOT NULL REFERENCES runs (run),
  idx    INTEGER NOT NULL,          -- from 0, no gaps
  id     TEXT NOT NULL,             -- the sender's; a second event of the same id is the same event
  time_s REAL NOT NULL,
  link   TEXT NOT NULL,             -- canonical JSON of the whole entry, hashes included
  PRIMARY KEY (run, idx),
  UNIQUE (run, id)
);
CREATE TRIGGER events_stay    BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are only appended'); END;
CREATE TRIGGER events_are_set BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are only appended'); END;
CREATE TABLE chunks (
  run    INTEGER NOT NULL REFERENCES runs (run),
  chunk  INTEGER NOT NULL,          -- from 0, no gaps; its SHA-256 is in an event samples-kept
  from_s REAL NOT NULL,
  to_s   REAL NOT NULL,
  count  INTEGER NOT NULL,
  body   BLOB NOT NULL,             -- chunk.ts
  UNIQUE (run, chunk)
);
CREATE TABLE tail (                 -- samples not yet in a chunk, one row a flush
  run    INTEGER NOT NULL REFERENCES runs (run),
  part   INTEGER PRIMARY KEY AUTOINCREMENT,
  body   BLOB NOT NULL
);
CREATE INDEX tail_of_run ON tail (run, part);
`,
};
