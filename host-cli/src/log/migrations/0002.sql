-- Version 2: the next steps that were taken, and a quick way to everything of one chunk.
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
