-- A sign-in belongs to a member or to a device, or to both: a phone is a member's, a tablet is a station's.
CREATE TABLE refresh_token_new (
    token_hash BLOB    NOT NULL PRIMARY KEY,
    family     BLOB    NOT NULL,
    agency     BLOB    NOT NULL REFERENCES agency (id),
    member     BLOB,
    device     BLOB,
    issued_at  TEXT    NOT NULL,
    expires_at TEXT    NOT NULL,
    spent_at   TEXT,
    ended_at   TEXT,
    revoked    INTEGER NOT NULL DEFAULT 0
) WITHOUT ROWID;
INSERT INTO refresh_token_new (token_hash, family, agency, member, issued_at, expires_at, spent_at, ended_at)
    SELECT token_hash, family, agency, member, issued_at, expires_at, spent_at, ended_at FROM refresh_token;
DROP TABLE refresh_token;
ALTER TABLE refresh_token_new RENAME TO refresh_token;
CREATE INDEX refresh_token_by_family ON refresh_token (family);
CREATE INDEX refresh_token_by_member ON refresh_token (agency, member);
CREATE INDEX refresh_token_by_device ON refresh_token (agency, device) WHERE device IS NOT NULL;
CREATE INDEX refresh_token_by_end ON refresh_token (ended_at) WHERE ended_at IS NOT NULL;

-- Codes that enrol a device, by hash. One with a station enrols a tablet of the station, one without the member's phone.
CREATE TABLE enrolment (
    agency     BLOB    NOT NULL REFERENCES agency (id),
    id         BLOB    NOT NULL,
    code_hash  BLOB    NOT NULL,
    member     BLOB    NOT NULL,
    sign_in    BLOB    NOT NULL,
    station    BLOB,
    expires_at TEXT    NOT NULL,
    used_at    TEXT,
    PRIMARY KEY (agency, id)
) WITHOUT ROWID;
CREATE UNIQUE INDEX enrolment_by_code ON enrolment (code_hash);
CREATE INDEX enrolment_by_member ON enrolment (agency, member);

-- The key that a member's PIN makes, the one before it, and how many signatures in a row were wrong.
CREATE TABLE pin (
    agency     BLOB    NOT NULL REFERENCES agency (id),
    member     BLOB    NOT NULL,
    salt       BLOB    NOT NULL,
    iterations INTEGER NOT NULL,
    secret     BLOB    NOT NULL,
    former     BLOB,
    wrong      INTEGER NOT NULL,
    PRIMARY KEY (agency, member)
) WITHOUT ROWID;
