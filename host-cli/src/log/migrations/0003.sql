-- Version 3: attempts that the player says were right, with all that they were judged by.
CREATE TABLE disputes (
    id INTEGER PRIMARY KEY,
    sitting INTEGER NOT NULL REFERENCES sittings (id),
    -- The attempt of the sitting.
    number INTEGER NOT NULL,
    disputed_at TEXT NOT NULL,
    music BLOB NOT NULL,
    pickup TEXT NOT NULL,
    click_us INTEGER,
    messages BLOB NOT NULL,
    UNIQUE (sitting, number)
) STRICT;
