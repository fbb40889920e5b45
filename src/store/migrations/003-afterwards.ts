import type { Migration } from './migrations.ts';

/** What the office keeps beside the records: an index of the runs, remarks, and who may read. Nothing of it is evidence. */
export const afterwards: Migration = {
  version: 3,
  sql: `
CREATE TABLE run_index (
  run        INTEGER PRIMARY KEY REFERENCES runs (run),
  run_id     TEXT NOT NULL,
  started_at TEXT NOT NULL,
  title      TEXT NOT NULL,
  site       TEXT NOT NULL DEFAULT '',
  engineer   TEXT NOT NULL DEFAULT '',
  rig        TEXT NOT NULL DEFAULT '',
  simulated  INTEGER NOT NULL DEFAULT 0,
  duration_s REAL NOT NULL DEFAULT 0,
  findings   INTEGER,               -- null: not looked at yet
  open       INTEGER,               -- findings less those that were closed
  worst      INTEGER,               -- rank of the worst open one, 1 the worst; null: none, or not looked at
  seal       TEXT NOT NULL DEFAULT 'unsigned',
  sealed_key TEXT NOT NULL DEFAULT '',
  seal_checked_at TEXT,
  rules      TEXT NOT NULL DEFAULT '', -- which rules and settings it was looked at with
  stale      INTEGER NOT NULL DEFAULT 1,
  search     TEXT NOT NULL DEFAULT ''  -- small letters: all that is searched
);
CREATE INDEX run_index_started  ON run_index (started_at);
CREATE INDEX run_index_title    ON run_index (title);
CREATE INDEX run_index_engineer ON run_index (engineer, started_at);
CREATE INDEX run_index_rig      ON run_index (rig, started_at);
CREATE INDEX run_index_open     ON run_index (open);
CREATE INDEX run_index_seal     ON run_index (seal, started_at);
CREATE INDEX run_index_stale    ON run_index (stale) WHERE stale = 1;
INSERT INTO run_index (run, run_id, started_at, title, simulated, search)
  SELECT run, run_id, coalesce(json_extract(head, '$.startedAt'), ''), coalesce(json_extract(head, '$.title'), ''),
    coalesce(json_extract(head, '$.simulated'), 0), lower(run_id || ' ' || coalesce(json_extract(head, '$.title'), ''))
  FROM runs;
CREATE TRIGGER runs_are_indexed AFTER INSERT ON runs BEGIN
  INSERT INTO run_index (run, run_id, started_at, title, simulated, search)
    VALUES (NEW.run, NEW.run_id, coalesce(json_extract(NEW.head, '$.startedAt'), ''),
      coalesce(json_extract(NEW.head, '$.title'), ''), coalesce(json_extract(NEW.head, '$.simulated'), 0),
      lower(NEW.run_id || ' ' || coalesce(json_extract(NEW.head, '$.title'), '')));
END;
CREATE TRIGGER events_make_stale AFTER INSERT ON events BEGIN
  UPDATE run_index SET stale = 1 WHERE run = NEW.run AND stale = 0;
END;
CREATE TABLE looked_at (            -- what an audit worked out, to be shown again at once
  run  INTEGER PRIMARY KEY REFERENCES runs (run),
  figures TEXT NOT NULL,            -- JSON: what is compared across runs
  page    BLOB NOT NULL             -- JSON, deflated: what the page of the run shows
);
CREATE TABLE comments (
  comment    INTEGER PRIMARY KEY,
  run        INTEGER NOT NULL REFERENCES runs (run),
  kind       TEXT NOT NULL,         -- comment | sign-off | close | reopen
  finding    TEXT NOT NULL DEFAULT '',
  by         TEXT NOT NULL,
  text       TEXT NOT NULL,
  written_at TEXT NOT NULL
);
CREATE INDEX comments_of_run ON comments (run, comment);
CREATE TRIGGER comments_stay    BEFORE DELETE ON comments BEGIN SELECT RAISE(ABORT, 'comments are only added'); END;
CREATE TRIGGER comments_are_set BEFORE UPDATE ON comments BEGIN SELECT RAISE(ABORT, 'comments are only added'); END;
CREATE TABLE people (
  person   INTEGER PRIMARY KEY,
  name     TEXT NOT NULL UNIQUE COLLATE NOCASE,
  role     TEXT NOT NULL,
  password TEXT NOT NULL,           -- scrypt, salted; never the password
  made_at  TEXT NOT NULL
);
CREATE TABLE sessions (
  hash    TEXT PRIMARY KEY,         -- SHA-256 of the token
  name    TEXT NOT NULL,
  role    TEXT NOT NULL,
  until   TEXT NOT NULL
);
CREATE TABLE shares (
  hash    TEXT PRIMARY KEY,         -- SHA-256 of the token in the link
  run     INTEGER NOT NULL REFERENCES runs (run),
  made_by TEXT NOT NULL,
  made_at TEXT NOT NULL,
  until   TEXT NOT NULL
);
`,
};
