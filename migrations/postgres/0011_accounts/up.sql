-- One row for each sign-in, whose id is the family of its refresh tokens: since when, when and from where it was last seen.
CREATE TABLE sign_in (
    agency   UUID NOT NULL REFERENCES agency (id),
    id       UUID NOT NULL,
    member   UUID,
    device   UUID,
    began_at TIMESTAMPTZ NOT NULL,
    seen_at  TIMESTAMPTZ NOT NULL,
    network  TEXT,
    program  TEXT,
    PRIMARY KEY (agency, id)
);
CREATE INDEX sign_in_by_member ON sign_in (agency, member);
CREATE INDEX sign_in_by_age ON sign_in (agency, seen_at);
INSERT INTO sign_in (agency, id, member, device, began_at, seen_at)
    SELECT agency, family, (array_agg(member))[1], (array_agg(device))[1], min(issued_at), max(issued_at) FROM refresh_token GROUP BY agency, family;

-- Links by which a member sets a password: the SHA-256 of the secret, found by its first eight bytes. One for each member.
CREATE TABLE access_link (
    agency     UUID NOT NULL REFERENCES agency (id),
    member     UUID NOT NULL,
    found_by   BYTEA NOT NULL,
    hash       BYTEA NOT NULL,
    maker      UUID NOT NULL,
    invites    BOOLEAN NOT NULL,
    expires_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, member)
);
CREATE UNIQUE INDEX access_link_by_secret ON access_link (found_by);

-- The key of a member's second factor; one that was not confirmed yet has no `on_at`. `last_step`: the last time step whose code was
-- used. `failures`, `free_at`: codes that were wrong since the last right one, and when the next may be tried.
CREATE TABLE second_factor (
    agency    UUID NOT NULL REFERENCES agency (id),
    member    UUID NOT NULL,
    secret    BYTEA NOT NULL,
    on_at     TIMESTAMPTZ,
    last_step BIGINT NOT NULL,
    failures  BIGINT NOT NULL,
    free_at   TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, member)
);

-- Recovery codes that are left, by hash.
CREATE TABLE recovery_code (
    agency UUID NOT NULL REFERENCES agency (id),
    member UUID NOT NULL,
    hash   BYTEA NOT NULL,
    PRIMARY KEY (agency, member, hash)
);

-- What happened to ways of signing in. `actor`, `actor_name`: who did it, where that was not the member itself.
CREATE TABLE access_event (
    agency     UUID NOT NULL REFERENCES agency (id),
    id         UUID NOT NULL,
    at         TIMESTAMPTZ NOT NULL,
    what       TEXT NOT NULL,
    member     UUID,
    actor      UUID,
    actor_name TEXT,
    network    TEXT,
    program    TEXT,
    PRIMARY KEY (agency, id)
);
CREATE INDEX access_event_by_time ON access_event (agency, at, id);

-- Keys of programs that answer: the SHA-256 of each, found by its first eight bytes, and what it may do. `kinds`: a JSON list; NULL: all
-- that the role may send. One that was revoked is not here.
CREATE TABLE api_key_secret (
    agency     UUID NOT NULL REFERENCES agency (id),
    api_key    UUID NOT NULL,
    found_by   BYTEA NOT NULL,
    hash       BYTEA NOT NULL,
    maker      UUID NOT NULL,
    name       TEXT NOT NULL,
    role       TEXT NOT NULL,
    kinds      TEXT,
    district   UUID,
    station    UUID,
    expires_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, api_key)
);
CREATE UNIQUE INDEX api_key_secret_by_secret ON api_key_secret (found_by);
