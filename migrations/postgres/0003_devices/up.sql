-- A sign-in belongs to a member or to a device, or to both: a phone is a member's, a tablet is a station's.
ALTER TABLE refresh_token ALTER COLUMN member DROP NOT NULL;
ALTER TABLE refresh_token ADD COLUMN device UUID;
ALTER TABLE refresh_token ADD COLUMN revoked BOOLEAN NOT NULL DEFAULT FALSE;
CREATE INDEX refresh_token_by_device ON refresh_token (agency, device) WHERE device IS NOT NULL;
CREATE INDEX refresh_token_by_end ON refresh_token (ended_at) WHERE ended_at IS NOT NULL;

-- Codes that enrol a device, by hash. One with a station enrols a tablet of the station, one without the member's phone.
CREATE TABLE enrolment (
    agency     UUID NOT NULL REFERENCES agency (id),
    id         UUID NOT NULL,
    code_hash  BYTEA NOT NULL,
    member     UUID NOT NULL,
    sign_in    UUID NOT NULL,
    station    UUID ,
    expires_at TIMESTAMPTZ NOT NULL,
    used_at    TIMESTAMPTZ ,
    PRIMARY KEY (agency, id)
);
CREATE UNIQUE INDEX enrolment_by_code ON enrolment (code_hash);
CREATE INDEX enrolment_by_member ON enrolment (agency, member);

-- The key that a member's PIN makes, the one before it, and how many signatures in a row were wrong.
CREATE TABLE pin (
    agency     UUID NOT NULL REFERENCES agency (id),
    member     UUID NOT NULL,
    salt       BYTEA NOT NULL,
    iterations BIGINT NOT NULL,
    secret     BYTEA NOT NULL,
    former     BYTEA ,
    wrong      BIGINT NOT NULL,
    PRIMARY KEY (agency, member)
);
