-- Photos that are here, by the SHA-256 of their bytes as they were sent. The pictures themselves are in the photo store.
CREATE TABLE photo (
    agency     BLOB    NOT NULL REFERENCES agency (id),
    sha256     TEXT    NOT NULL,
    bytes      INTEGER NOT NULL,
    kept_bytes INTEGER NOT NULL,
    media      TEXT    NOT NULL,
    width      INTEGER NOT NULL,
    height     INTEGER NOT NULL,
    member     BLOB,
    stored_at  TEXT    NOT NULL,
    PRIMARY KEY (agency, sha256)
) WITHOUT ROWID;

-- Parts of photos that are still being sent.
CREATE TABLE photo_part (
    agency  BLOB    NOT NULL REFERENCES agency (id),
    sha256  TEXT    NOT NULL,
    start   INTEGER NOT NULL,
    size    INTEGER NOT NULL,
    bytes   BLOB    NOT NULL,
    sent_at TEXT    NOT NULL,
    PRIMARY KEY (agency, sha256, start)
);
CREATE INDEX photo_part_by_age ON photo_part (sent_at);
