-- A log as version 2 of its schema wrote it. It stays as it is: later versions must read it.
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
CREATE TABLE steps (
    id INTEGER PRIMARY KEY,
    sitting INTEGER NOT NULL REFERENCES sittings (id),
    number INTEGER NOT NULL,
    taken_at TEXT NOT NULL,
    -- The attempt of the sitting after which it was taken; none before the first.
    after_attempt INTEGER,
    step TEXT NOT NULL,
    details TEXT NOT NULL,
    UNIQUE (sitting, number)
) STRICT;

CREATE INDEX attempts_by_chunk ON attempts (chunk, began_at);
INSERT INTO studies VALUES ('46e5ca09a1921bfc', 'evenhand study 1');
INSERT INTO sittings VALUES (1, '3-1', '2026-04-02T17:40:00.000Z', '2026-04-02T17:42:30.500Z',
    'evenhand 0.1.0', NULL, '/home/player/eight.study', 'Eight Steps', '46e5ca09a1921bfc',
    NULL, NULL, 'auto', '/dev/ttyUSB0', NULL, NULL);
INSERT INTO attempts VALUES (1, 1, 1, '2026-04-02T17:41:00.250Z', 'Eight steps', 'steady', 6000,
    5512, 'needs work', 1,
    '[{"what":"missing-notes","bearing":"fails","expected":2,"bar":1,"beat":"2","count":1,"size":1,"limit":0,"unit":"notes","more_attempts":null}]',
    0, 0, X'0000000090D00300062B5000');
INSERT INTO steps VALUES (1, 1, 1, '2026-04-02T17:40:00.000Z', 0, 'begin', '{"kind":"step"}');
INSERT INTO steps VALUES (2, 1, 2, '2026-04-02T17:41:06.000Z', 1, 'slower', '{"kind":"step"}');
PRAGMA application_id = 1165379684;
PRAGMA user_version = 2;
