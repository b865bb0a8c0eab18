-- One row per agency: the revision counter whose order is commit order, and the head of the journal's hash chain.
CREATE TABLE agency (
    id           BLOB    NOT NULL PRIMARY KEY,
    rev          INTEGER NOT NULL,
    journal_head BLOB    NOT NULL,
    created_at   TEXT    NOT NULL
) WITHOUT ROWID;

-- The latest state of every record, and what it is looked up by.
CREATE TABLE record (
    agency   BLOB    NOT NULL REFERENCES agency (id),
    kind     TEXT    NOT NULL,
    id       BLOB    NOT NULL,
    rev      INTEGER NOT NULL,
    gone     INTEGER NOT NULL,
    label    TEXT    NOT NULL,
    uniq     TEXT,
    state    TEXT    NOT NULL,
    parent   BLOB,
    district BLOB,
    station  BLOB,
    rig      BLOB,
    body     TEXT    NOT NULL,
    PRIMARY KEY (agency, kind, id)
);
CREATE INDEX record_by_rev ON record (agency, rev);
CREATE INDEX record_by_label ON record (agency, kind, label, id);
CREATE INDEX record_by_rig ON record (agency, rig, kind) WHERE rig IS NOT NULL;
CREATE INDEX record_by_parent ON record (agency, parent, kind) WHERE parent IS NOT NULL;
CREATE UNIQUE INDEX record_unique ON record (agency, kind, uniq) WHERE uniq IS NOT NULL;

-- Every state that every record has had: history, the past, and what left which scope when.
CREATE TABLE change_log (
    agency        BLOB    NOT NULL REFERENCES agency (id),
    rev           INTEGER NOT NULL,
    kind          TEXT    NOT NULL,
    id            BLOB    NOT NULL,
    gone          INTEGER NOT NULL,
    district      BLOB,
    station       BLOB,
    rig           BLOB,
    left_district BLOB,
    left_station  BLOB,
    left_rig      BLOB,
    body          TEXT    NOT NULL,
    PRIMARY KEY (agency, rev, kind, id)
);
CREATE INDEX change_log_by_record ON change_log (agency, kind, id, rev);

-- The append-only record of every command. `hash` chains over `prev_hash`: `fullset verify` walks it.
CREATE TABLE journal (
    agency      BLOB    NOT NULL REFERENCES agency (id),
    rev         INTEGER NOT NULL,
    command     BLOB    NOT NULL,
    kind        TEXT    NOT NULL,
    actor       BLOB,
    actor_name  TEXT    NOT NULL,
    actor_role  TEXT    NOT NULL,
    at_raw      TEXT    NOT NULL,
    at          TEXT    NOT NULL,
    received_at TEXT    NOT NULL,
    skew_us     INTEGER NOT NULL,
    body        TEXT    NOT NULL,
    body_hash   BLOB    NOT NULL,
    answer      TEXT    NOT NULL,
    prev_hash   BLOB    NOT NULL,
    hash        BLOB    NOT NULL,
    PRIMARY KEY (agency, rev)
);
CREATE UNIQUE INDEX journal_by_command ON journal (agency, command);

-- How each rig stood, as closed intervals and one open one.
CREATE TABLE standing (
    agency      BLOB    NOT NULL REFERENCES agency (id),
    rig         BLOB    NOT NULL,
    from_rev    INTEGER NOT NULL,
    from_at     TEXT    NOT NULL,
    until_at    TEXT,
    level       TEXT    NOT NULL,
    holds_until TEXT,
    PRIMARY KEY (agency, rig, from_rev)
) WITHOUT ROWID;
CREATE INDEX standing_due ON standing (holds_until) WHERE until_at IS NULL AND holds_until IS NOT NULL;

CREATE TABLE credential (
    agency        BLOB    NOT NULL REFERENCES agency (id),
    member        BLOB    NOT NULL,
    email         TEXT    NOT NULL UNIQUE,
    password_hash TEXT    NOT NULL,
    PRIMARY KEY (agency, member)
) WITHOUT ROWID;

-- One row per refresh token ever issued; a family is one sign-in. Using a spent token ends its family.
CREATE TABLE refresh_token (
    token_hash BLOB    NOT NULL PRIMARY KEY,
    family     BLOB    NOT NULL,
    agency     BLOB    NOT NULL REFERENCES agency (id),
    member     BLOB    NOT NULL,
    issued_at  TEXT    NOT NULL,
    expires_at TEXT    NOT NULL,
    spent_at   TEXT,
    ended_at   TEXT
) WITHOUT ROWID;
CREATE INDEX refresh_token_by_family ON refresh_token (family);
CREATE INDEX refresh_token_by_member ON refresh_token (agency, member);

CREATE TABLE signing_key (
    kid        TEXT NOT NULL PRIMARY KEY,
    created_at TEXT NOT NULL,
    secret_pem TEXT NOT NULL,
    public_key TEXT NOT NULL
) WITHOUT ROWID;
