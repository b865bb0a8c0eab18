-- Photos that are here, by the SHA-256 of their bytes as they were sent. The pictures themselves are in the photo store.
CREATE TABLE photo (
    agency     UUID NOT NULL REFERENCES agency (id),
    sha256     TEXT NOT NULL,
    bytes      BIGINT NOT NULL,
    kept_bytes BIGINT NOT NULL,
    media      TEXT NOT NULL,
    width      BIGINT NOT NULL,
    height     BIGINT NOT NULL,
    member     UUID ,
    stored_at  TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, sha256)
);

-- Parts of photos that are still being sent.
CREATE TABLE photo_part (
    agency  UUID NOT NULL REFERENCES agency (id),
    sha256  TEXT NOT NULL,
    start   BIGINT NOT NULL,
    size    BIGINT NOT NULL,
    bytes   BYTEA NOT NULL,
    sent_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, sha256, start)
);
CREATE INDEX photo_part_by_age ON photo_part (sent_at);
