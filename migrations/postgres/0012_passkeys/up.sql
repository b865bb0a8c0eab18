-- Passkeys of members: `credential`, the name that the authenticator knows it by; `public_key`, as COSE writes it; `counter`, the
-- last counter of its signatures, 0 where it has none.
CREATE TABLE passkey (
    agency     UUID NOT NULL REFERENCES agency (id),
    id         UUID NOT NULL,
    member     UUID NOT NULL,
    credential BYTEA NOT NULL,
    public_key BYTEA NOT NULL,
    counter    BIGINT NOT NULL,
    name       TEXT NOT NULL,
    made_at    TIMESTAMPTZ NOT NULL,
    used_at    TIMESTAMPTZ,
    PRIMARY KEY (agency, id)
);
CREATE UNIQUE INDEX passkey_by_credential ON passkey (credential);
CREATE INDEX passkey_by_member ON passkey (agency, member);

-- Challenges that were answered, until they would have run out.
CREATE TABLE passkey_answered (
    agency    UUID NOT NULL REFERENCES agency (id),
    challenge BYTEA NOT NULL,
    until     TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, challenge)
);
