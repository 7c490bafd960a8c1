-- The first form of the shop's database. This file never changes once released; a change is a new file.
--
-- Identifiers are the 36 characters of a UUID: readable by hand, and version 7 sorts by time. They are
-- compared byte by byte (COLLATE "C"), as SQLite compares text, whatever language the server was set up in.
-- Hashes are their 32 raw bytes: half the room of digits, and compared byte by byte on both databases.

-- What happened, one row an entry. Rows are only ever added. `body` is the exact text that `hash` was taken
-- over, kept as text: a JSON column would re-order and re-space it, and the hash would no longer fit.
CREATE TABLE events (
    car   TEXT COLLATE "C" NOT NULL,
    seq   BIGINT           NOT NULL CHECK (seq >= 1),
    entry TEXT COLLATE "C" NOT NULL,
    hash  BYTEA            NOT NULL CHECK (length(hash) = 32),
    body  TEXT COLLATE "C" NOT NULL,
    -- Two people writing at once: only one gets the place.
    CONSTRAINT events_place PRIMARY KEY (car, seq),
    -- A phone that sends an entry twice: it is kept once.
    CONSTRAINT events_entry UNIQUE (entry)
);

-- Photographs and imported files under the SHA-256 of their bytes, so the same file is kept once.
CREATE TABLE blobs (
    hash  BYTEA NOT NULL CHECK (length(hash) = 32),
    bytes BYTEA NOT NULL,
    CONSTRAINT blobs_hash PRIMARY KEY (hash)
);
-- Pictures are compressed already: trying again costs time and saves nothing.
ALTER TABLE blobs ALTER COLUMN bytes SET STORAGE EXTERNAL;

-- The people of the shop. Nobody is deleted: a person who has left is not active.
CREATE TABLE people (
    -- The order in which they were entered.
    position   BIGINT GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    id         TEXT COLLATE "C" NOT NULL,
    name       TEXT             NOT NULL,
    role       TEXT             NOT NULL,
    -- An argon2 string; without one this person cannot sign in.
    passphrase TEXT,
    active     BOOLEAN          NOT NULL,
    CONSTRAINT people_id UNIQUE (id)
);

-- Devices that are signed in. `token` is the SHA-256 of the cookie's token; the token itself is kept nowhere.
CREATE TABLE sessions (
    token   BYTEA            NOT NULL CHECK (length(token) = 32),
    person  TEXT COLLATE "C" NOT NULL REFERENCES people (id),
    role    TEXT             NOT NULL,
    -- Microseconds since 1970-01-01 UTC.
    expires BIGINT           NOT NULL,
    CONSTRAINT sessions_token PRIMARY KEY (token)
);

-- Ending every session of a person, and dropping those that have run out.
CREATE INDEX sessions_person ON sessions (person);
CREATE INDEX sessions_expires ON sessions (expires);
