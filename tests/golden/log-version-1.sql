-- A log as version 1 of its schema wrote it. It stays as it is: later versions must read it.
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
INSERT INTO studies VALUES ('46e5ca09a1921bfc', 'evenhand study 1');
INSERT INTO studies VALUES ('00000000000000aa', 'evenhand study 1');
INSERT INTO sittings VALUES (1, '1-1', '2026-03-30T17:40:00.000Z', '2026-03-30T18:20:30.500Z',
    'evenhand 0.1.0', 'pupil-a', '/home/player/eight.study', 'Eight Steps', '46e5ca09a1921bfc',
    NULL, NULL, 'string', '/dev/ttyUSB0', NULL, NULL);
INSERT INTO sittings VALUES (2, '2-1', '2026-03-31T08:00:00.000Z', '2026-03-31T08:01:00.000Z',
    'evenhand 0.1.0', NULL, '/home/player/quay.study', 'Quay', '00000000000000aa',
    'performance', 60, 'auto', 'standard input', 'stage', '00000000000000bb');
INSERT INTO attempts VALUES (1, 1, 1, '2026-03-30T17:41:00.250Z', 'Eight steps', 'steady', 6000,
    5512, 'needs work', 1,
    '[{"what":"weak-slurs","bearing":"fails","expected":2,"bar":1,"beat":"2 1/2","count":3,"size":-1020,"limit":900,"unit":"0.01 dB","more_attempts":null},{"what":"unsteady","bearing":"unsettled","expected":null,"bar":null,"beat":null,"count":1,"size":21400,"limit":20000,"unit":"us","more_attempts":2}]',
    2, 0, X'0000000090D00300062B50000A00040090D00300052D5100');
INSERT INTO attempts VALUES (2, 1, 2, '2026-03-30T17:42:10.000Z', 'Eight steps', 'steady', 6000,
    5790, 'unclear', 2,
    '[{"what":"unsteady","bearing":"unsettled","expected":null,"bar":null,"beat":null,"count":1,"size":20600,"limit":20000,"unit":"us","more_attempts":1}]',
    0, 0, X'0000000090D00300062B5000');
INSERT INTO attempts VALUES (3, 1, 3, '2026-03-30T18:20:21.000Z', 'Eight steps', 'steady', 6000,
    6004, 'passed', 1,
    '[{"what":"pickup-errors","bearing":"advice","expected":null,"bar":null,"beat":null,"count":1,"size":1,"limit":0,"unit":"notes","more_attempts":null}]',
    0, 0, X'00000000FFFFFFFF002B0002');
INSERT INTO attempts VALUES (4, 2, 1, '2026-03-31T08:00:30.000Z',
    'A chunk with a name that is longer than its column', 'performance', 6000, NULL, 'unclear', 1,
    '[{"what":"broken-off","bearing":"unsettled","expected":5,"bar":12,"beat":"3","count":4,"size":4,"limit":0,"unit":"notes","more_attempts":null}]',
    1, 1, X'');
PRAGMA application_id = 1165379684;
PRAGMA user_version = 1;
