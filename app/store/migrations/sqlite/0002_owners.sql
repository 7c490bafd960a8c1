-- The owner's side: the links that let an owner see one car, and who opened what. Neither goes into a backup:
-- a shop that is restored must not bring links to life again that were taken back since.

-- `token` is the SHA-256 of the token in the address; the token itself is kept nowhere. A link that has ended
-- or was taken back stays, so that its page can say so and the lead sees who had one.
CREATE TABLE links (
    token   BLOB    NOT NULL CHECK (length(token) = 32),
    car     TEXT    NOT NULL,
    person  TEXT    NOT NULL REFERENCES people (id),
    -- Microseconds since 1970-01-01 UTC, as everywhere here.
    made    INTEGER NOT NULL,
    made_by TEXT    NOT NULL REFERENCES people (id),
    expires INTEGER NOT NULL,
    revoked INTEGER,
    CONSTRAINT links_token PRIMARY KEY (token)
) STRICT;
CREATE INDEX links_car ON links (car, made);

-- Who opened something that leaves the shop. Nothing here refers to another table: a note of who came is kept
-- as it was taken, whatever becomes of the rest.
CREATE TABLE visits (
    -- The order in which they came. The old ones are found by it, without counting.
    position INTEGER PRIMARY KEY AUTOINCREMENT,
    at       INTEGER NOT NULL,
    car      TEXT,
    person   TEXT,
    link     BLOB CHECK (length(link) = 32),
    what     TEXT    NOT NULL
) STRICT;
CREATE INDEX visits_car ON visits (car, position);
