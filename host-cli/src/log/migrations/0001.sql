-- Version 1: what was practised, and every attempt. Specified in docs/log-schema.md.

-- Each text of a study once, so that an attempt can be judged again when the file has changed.
CREATE TABLE studies (
    hash TEXT PRIMARY KEY,
    text TEXT NOT NULL
) STRICT;

CREATE TABLE sittings (
    id INTEGER PRIMARY KEY,
    -- Made by the program that wrote it, so that writing again is no second sitting.
    key TEXT NOT NULL UNIQUE,
    began_at TEXT NOT NULL,
    ended_at TEXT NOT NULL,
    program TEXT NOT NULL,
    who TEXT,
    study_path TEXT NOT NULL,
    study_name TEXT NOT NULL,
    study_hash TEXT NOT NULL REFERENCES studies (hash),
    level TEXT,
    beats_a_minute INTEGER,
    channels TEXT NOT NULL,
    source TEXT NOT NULL,
    pickup_name TEXT,
    pickup_hash TEXT
) STRICT;

CREATE TABLE attempts (
    id INTEGER PRIMARY KEY,
    sitting INTEGER NOT NULL REFERENCES sittings (id),
    number INTEGER NOT NULL,
    began_at TEXT NOT NULL,
    chunk TEXT NOT NULL,
    level TEXT NOT NULL,
    practised_hundredths INTEGER NOT NULL,
    heard_hundredths INTEGER,
    verdict TEXT NOT NULL CHECK (verdict IN ('passed', 'needs work', 'unclear')),
    attempts_together INTEGER NOT NULL,
    findings TEXT NOT NULL,
    false_starts INTEGER NOT NULL,
    interrupted INTEGER NOT NULL CHECK (interrupted IN (0, 1)),
    notes BLOB NOT NULL,
    UNIQUE (sitting, number)
) STRICT;
