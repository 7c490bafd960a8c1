-- The first form of the shop's database. This file never changes once released; a change is a new file.
--
-- Identifiers are the 36 characters of a UUID: readable by hand, and version 7 sorts by time.
-- Hashes are their 32 raw bytes: half the room of digits, and compared byte by byte on both databases.
-- STRICT makes SQLite refuse a value of another type, as PostgreSQL does.

-- What happened, one row an entry. Rows are only ever added. `body` is the exact text that `hash` was taken
-- over, kept as text: a JSON column would re-order and re-space it, and the hash would no longer fit.
CREATE TABLE events (
    car   TEXT    NOT NULL,
    seq   INTEGER NOT NULL CHECK (seq >= 1),
    entry TEXT    NOT NULL,
    hash  BLOB    NOT NULL CHECK (length(hash) = 32),
    body  TEXT    NOT NULL,
    -- Two people writing at once: only one gets the place.
    CONSTRAINT events_place PRIMARY KEY (car, seq),
    -- A phone that sends an entry twice: it is kept once.
    CONSTRAINT events_entry UNIQUE (entry)
) STRICT;

-- Photographs and imported files under the SHA-256 of their bytes, so the same file is kept once.
CREATE TABLE blobs (
    hash  BLOB NOT NULL CHECK (length(hash) = 32),
    bytes BLOB NOT NULL,
    CONSTRAINT blobs_hash PRIMARY KEY (hash)
) STRICT;

-- The people of the shop. Nobody is deleted: a person who has left is not active.
CREATE TABLE people (
    -- The order in which they were entered.
    position   INTEGER PRIMARY KEY AUTOINCREMENT,
    id         TEXT    NOT NULL,
    name       TEXT    NOT NULL,
    role       TEXT    NOT NULL,
    -- An argon2 string; without one this person cannot sign in.
    passphrase TEXT,
    active     INTEGER NOT NULL CHECK (active IN (0, 1)),
    CONSTRAINT people_id UNIQUE (id)
) STRICT;

-- Devices that are signed in. `token` is the SHA-256 of the cookie's token; the token itself is kept nowhere.
CREATE TABLE sessions (
    token   BLOB    NOT NULL CHECK (length(token) = 32),
    person  TEXT    NOT NULL REFERENCES people (id),
    role    TEXT    NOT NULL,
    -- Microseconds since 1970-01-01 UTC.
    expires INTEGER NOT NULL,
    CONSTRAINT sessions_token PRIMARY KEY (token)
) STRICT;

-- Ending every session of a person, and dropping those that have run out.
CREATE INDEX sessions_person ON sessions (person);
CREATE INDEX sessions_expires ON sessions (expires);
