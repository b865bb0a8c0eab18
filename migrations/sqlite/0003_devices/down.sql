DROP TABLE pin;
DROP TABLE enrolment;
CREATE TABLE refresh_token_old (
    token_hash BLOB    NOT NULL PRIMARY KEY,
    family     BLOB    NOT NULL,
    agency     BLOB    NOT NULL REFERENCES agency (id),
    member     BLOB    NOT NULL,
    issued_at  TEXT    NOT NULL,
    expires_at TEXT    NOT NULL,
    spent_at   TEXT,
    ended_at   TEXT
) WITHOUT ROWID;
INSERT INTO refresh_token_old
    SELECT token_hash, family, agency, member, issued_at, expires_at, spent_at, ended_at FROM refresh_token WHERE member IS NOT NULL;
DROP TABLE refresh_token;
ALTER TABLE refresh_token_old RENAME TO refresh_token;
CREATE INDEX refresh_token_by_family ON refresh_token (family);
CREATE INDEX refresh_token_by_member ON refresh_token (agency, member);
