-- Passkeys of members: `credential`, the name that the authenticator knows it by; `public_key`, as COSE writes it; `counter`, the
-- last counter of its signatures, 0 where it has none.
CREATE TABLE passkey (
    agency     BLOB NOT NULL REFERENCES agency (id),
    id         BLOB NOT NULL,
    member     BLOB NOT NULL,
    credential BLOB NOT NULL,
    public_key BLOB NOT NULL,
    counter    INTEGER NOT NULL,
    name       TEXT NOT NULL,
    made_at    INTEGER NOT NULL,
    used_at    INTEGER,
    PRIMARY KEY (agency, id)
) WITHOUT ROWID;
CREATE UNIQUE INDEX passkey_by_credential ON passkey (credential);
CREATE INDEX passkey_by_member ON passkey (agency, member);

-- Challenges that were answered, until they would have run out.
CREATE TABLE passkey_answered (
    agency    BLOB NOT NULL REFERENCES agency (id),
    challenge BLOB NOT NULL,
    until     INTEGER NOT NULL,
    PRIMARY KEY (agency, challenge)
) WITHOUT ROWID;
