-- Version 1 of the archive. FORMAT.md says what every table and column means.
-- Nothing that was saved is changed later: the triggers at the end see to it for
-- every program that writes to the file, and stand aside only for "forget".

CREATE TABLE job (
  number INTEGER PRIMARY KEY AUTOINCREMENT
);

CREATE TABLE revision (
  id           INTEGER PRIMARY KEY AUTOINCREMENT,
  job          INTEGER NOT NULL REFERENCES job (number),
  number       INTEGER NOT NULL CHECK (number >= 1),
  origin       INTEGER CHECK (origin >= 1),
  reason       TEXT NOT NULL CHECK (reason IN ('kept', 'changed', 'noted', 'restored')),
  saved_at     TEXT NOT NULL,
  program      TEXT NOT NULL,
  made_on      TEXT NOT NULL,
  set_of       INTEGER NOT NULL CHECK (set_of >= 0),
  which        INTEGER NOT NULL CHECK (which >= 0),
  width_mm     REAL,
  depth_mm     REAL,
  perimeter_mm REAL,
  area_mm2     REAL,
  within_mm    REAL,
  UNIQUE (job, number)
);

CREATE TABLE words (
  revision INTEGER PRIMARY KEY REFERENCES revision (id),
  title    TEXT NOT NULL,
  customer TEXT NOT NULL,
  contact  TEXT NOT NULL,
  place    TEXT NOT NULL,
  chair    TEXT NOT NULL
);

CREATE TABLE note (
  revision INTEGER PRIMARY KEY REFERENCES revision (id),
  text     TEXT NOT NULL
);

CREATE TABLE content (
  id     INTEGER PRIMARY KEY AUTOINCREMENT,
  sha256 BLOB NOT NULL UNIQUE CHECK (length(sha256) = 32),
  length INTEGER NOT NULL CHECK (length >= 0),
  bytes  BLOB NOT NULL
);

CREATE TABLE part (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  revision INTEGER NOT NULL REFERENCES revision (id),
  role     TEXT NOT NULL,
  name     TEXT NOT NULL,
  content  INTEGER NOT NULL REFERENCES content (id),
  UNIQUE (revision, role, name)
);

CREATE INDEX part_content ON part (content);

CREATE TABLE made (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  revision INTEGER NOT NULL REFERENCES revision (id),
  saved_at TEXT NOT NULL,
  program  TEXT NOT NULL,
  what     TEXT NOT NULL
);

CREATE INDEX made_revision ON made (revision);

CREATE TABLE signature (
  content INTEGER PRIMARY KEY REFERENCES content (id),
  scheme  TEXT NOT NULL,
  bytes   BLOB NOT NULL
);

CREATE TABLE forgotten (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  job      INTEGER NOT NULL REFERENCES job (number),
  saved_at TEXT NOT NULL,
  parts    INTEGER NOT NULL
);

-- One row per job, rowid = job number; text is folded by the program.
CREATE VIRTUAL TABLE search USING fts5 (text, tokenize = 'trigram case_sensitive 1', detail = full);

-- Holds a row only inside the transaction of "forget".
CREATE TABLE unlocked (id INTEGER PRIMARY KEY CHECK (id = 1));

CREATE TRIGGER job_stays      BEFORE DELETE ON job      BEGIN SELECT RAISE (ABORT, 'a job is never deleted'); END;
CREATE TRIGGER job_fixed      BEFORE UPDATE ON job      BEGIN SELECT RAISE (ABORT, 'a job is never changed'); END;
CREATE TRIGGER revision_stays BEFORE DELETE ON revision BEGIN SELECT RAISE (ABORT, 'a revision is never deleted'); END;
CREATE TRIGGER revision_fixed BEFORE UPDATE ON revision BEGIN SELECT RAISE (ABORT, 'a revision is never changed'); END;
CREATE TRIGGER words_fixed    BEFORE UPDATE ON words    BEGIN SELECT RAISE (ABORT, 'words are never changed'); END;
CREATE TRIGGER note_fixed     BEFORE UPDATE ON note     BEGIN SELECT RAISE (ABORT, 'a note is never changed'); END;
CREATE TRIGGER content_fixed  BEFORE UPDATE ON content  BEGIN SELECT RAISE (ABORT, 'contents are never changed'); END;
CREATE TRIGGER part_fixed     BEFORE UPDATE ON part     BEGIN SELECT RAISE (ABORT, 'a part is never changed'); END;
CREATE TRIGGER made_fixed     BEFORE UPDATE ON made     BEGIN SELECT RAISE (ABORT, 'what was made is never changed'); END;
CREATE TRIGGER forgotten_stays BEFORE DELETE ON forgotten BEGIN SELECT RAISE (ABORT, 'that something was forgotten stays known'); END;
CREATE TRIGGER forgotten_fixed BEFORE UPDATE ON forgotten BEGIN SELECT RAISE (ABORT, 'that something was forgotten stays known'); END;

CREATE TRIGGER words_stay   BEFORE DELETE ON words   WHEN NOT EXISTS (SELECT 1 FROM unlocked)
BEGIN SELECT RAISE (ABORT, 'words are only deleted by forget'); END;
CREATE TRIGGER note_stays   BEFORE DELETE ON note    WHEN NOT EXISTS (SELECT 1 FROM unlocked)
BEGIN SELECT RAISE (ABORT, 'notes are only deleted by forget'); END;
CREATE TRIGGER content_stays BEFORE DELETE ON content WHEN NOT EXISTS (SELECT 1 FROM unlocked)
BEGIN SELECT RAISE (ABORT, 'contents are only deleted by forget'); END;
CREATE TRIGGER part_stays   BEFORE DELETE ON part    WHEN NOT EXISTS (SELECT 1 FROM unlocked)
BEGIN SELECT RAISE (ABORT, 'parts are only deleted by forget'); END;
CREATE TRIGGER made_stays   BEFORE DELETE ON made    WHEN NOT EXISTS (SELECT 1 FROM unlocked)
BEGIN SELECT RAISE (ABORT, 'what was made is only deleted by forget'); END;
