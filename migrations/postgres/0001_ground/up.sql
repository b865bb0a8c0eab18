-- One row per agency: the revision counter whose order is commit order, and the head of the journal's hash chain.
CREATE TABLE agency (
    id           UUID NOT NULL PRIMARY KEY,
    rev          BIGINT NOT NULL,
    journal_head BYTEA NOT NULL,
    created_at   TIMESTAMPTZ NOT NULL
);

-- The latest state of every record, and what it is looked up by.
CREATE TABLE record (
    agency   UUID NOT NULL REFERENCES agency (id),
    kind     TEXT NOT NULL,
    id       UUID NOT NULL,
    rev      BIGINT NOT NULL,
    gone     BOOLEAN NOT NULL,
    label    TEXT NOT NULL,
    uniq     TEXT ,
    state    TEXT NOT NULL,
    parent   UUID ,
    district UUID ,
    station  UUID ,
    rig      UUID ,
    body     JSON    NOT NULL,
    PRIMARY KEY (agency, kind, id)
);
CREATE INDEX record_by_rev ON record (agency, rev);
CREATE INDEX record_by_label ON record (agency, kind, label, id);
CREATE INDEX record_by_rig ON record (agency, rig, kind) WHERE rig IS NOT NULL;
CREATE INDEX record_by_parent ON record (agency, parent, kind) WHERE parent IS NOT NULL;
CREATE UNIQUE INDEX record_unique ON record (agency, kind, uniq) WHERE uniq IS NOT NULL;

-- Every state that every record has had: history, the past, and what left which scope when.
CREATE TABLE change_log (
    agency        UUID NOT NULL REFERENCES agency (id),
    rev           BIGINT NOT NULL,
    kind          TEXT NOT NULL,
    id            UUID NOT NULL,
    gone          BOOLEAN NOT NULL,
    district      UUID ,
    station       UUID ,
    rig           UUID ,
    left_district UUID ,
    left_station  UUID ,
    left_rig      UUID ,
    body          JSON NOT NULL,
    PRIMARY KEY (agency, rev, kind, id)
);
CREATE INDEX change_log_by_record ON change_log (agency, kind, id, rev);

-- The append-only record of every command. `hash` chains over `prev_hash`: `fullset verify` walks it.
CREATE TABLE journal (
    agency      UUID NOT NULL REFERENCES agency (id),
    rev         BIGINT NOT NULL,
    command     UUID NOT NULL,
    kind        TEXT NOT NULL,
    actor       UUID ,
    actor_name  TEXT NOT NULL,
    actor_role  TEXT NOT NULL,
    at_raw      TIMESTAMPTZ NOT NULL,
    at          TIMESTAMPTZ NOT NULL,
    received_at TIMESTAMPTZ NOT NULL,
    skew_us     BIGINT NOT NULL,
    body        JSON NOT NULL,
    body_hash   BYTEA NOT NULL,
    answer      JSON NOT NULL,
    prev_hash   BYTEA NOT NULL,
    hash        BYTEA NOT NULL,
    PRIMARY KEY (agency, rev)
);
CREATE UNIQUE INDEX journal_by_command ON journal (agency, command);

-- How each rig stood, as closed intervals and one open one.
CREATE TABLE standing (
    agency      UUID NOT NULL REFERENCES agency (id),
    rig         UUID NOT NULL,
    from_rev    BIGINT NOT NULL,
    from_at     TIMESTAMPTZ NOT NULL,
    until_at    TIMESTAMPTZ ,
    level       TEXT NOT NULL,
    holds_until TIMESTAMPTZ ,
    PRIMARY KEY (agency, rig, from_rev)
);
CREATE INDEX standing_due ON standing (holds_until) WHERE until_at IS NULL AND holds_until IS NOT NULL;

CREATE TABLE credential (
    agency        UUID NOT NULL REFERENCES agency (id),
    member        UUID NOT NULL,
    email         TEXT NOT NULL UNIQUE,
    password_hash TEXT NOT NULL,
    PRIMARY KEY (agency, member)
);

-- One row per refresh token ever issued; a family is one sign-in. Using a spent token ends its family.
CREATE TABLE refresh_token (
    token_hash BYTEA NOT NULL PRIMARY KEY,
    family     UUID NOT NULL,
    agency     UUID NOT NULL REFERENCES agency (id),
    member     UUID NOT NULL,
    issued_at  TIMESTAMPTZ NOT NULL,
    expires_at TIMESTAMPTZ NOT NULL,
    spent_at   TIMESTAMPTZ ,
    ended_at   TIMESTAMPTZ
);
CREATE INDEX refresh_token_by_family ON refresh_token (family);
CREATE INDEX refresh_token_by_member ON refresh_token (agency, member);

CREATE TABLE signing_key (
    kid        TEXT NOT NULL PRIMARY KEY,
    created_at TIMESTAMPTZ NOT NULL,
    secret_pem TEXT NOT NULL,
    public_key TEXT NOT NULL
);
