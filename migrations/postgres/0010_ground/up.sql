-- One row for each agency: the revision counter whose order is commit order, the head of the journal's chain of hashes, and
-- `horizon`: deleted records up to this revision are forgotten, so that a feed token from before it asks for a new snapshot.
CREATE TABLE agency (
    id           UUID NOT NULL PRIMARY KEY,
    rev          BIGINT NOT NULL,
    journal_head BYTEA NOT NULL,
    created_at   TIMESTAMPTZ NOT NULL,
    horizon      BIGINT NOT NULL DEFAULT 0
);

-- The state of every record as it is now, and what it is found by. `district`, `station`, `rig`, `shop`: where it is. `home_*`:
-- where it has its home, where that is not the place that it is at. `renamed`: the revision that last gave it another label.
CREATE TABLE record (
    agency        UUID NOT NULL REFERENCES agency (id),
    kind          TEXT NOT NULL,
    id            UUID NOT NULL,
    rev           BIGINT NOT NULL,
    gone          BOOLEAN NOT NULL,
    label         TEXT NOT NULL,
    uniq          TEXT,
    mark          TEXT,
    state         TEXT NOT NULL,
    parent        UUID,
    district      UUID,
    station       UUID,
    rig           UUID,
    shop          UUID,
    home_district UUID,
    home_station  UUID,
    home_rig      UUID,
    renamed       BIGINT,
    body          JSON NOT NULL,
    PRIMARY KEY (agency, kind, id)
);
CREATE INDEX record_by_rev ON record (agency, rev);
CREATE INDEX record_by_label ON record (agency, kind, label, id);
CREATE INDEX record_by_rig ON record (agency, rig, kind) WHERE rig IS NOT NULL;
CREATE INDEX record_by_home_rig ON record (agency, home_rig) WHERE home_rig IS NOT NULL;
CREATE INDEX record_by_parent ON record (agency, parent, kind) WHERE parent IS NOT NULL;
CREATE UNIQUE INDEX record_unique ON record (agency, kind, uniq) WHERE uniq IS NOT NULL;
CREATE UNIQUE INDEX record_mark ON record (agency, kind, mark) WHERE mark IS NOT NULL;
CREATE INDEX record_renamed ON record (agency, renamed) WHERE renamed IS NOT NULL;
CREATE INDEX record_gone ON record (agency, rev) WHERE gone;
-- What is out for planned service: a few pieces among many.
CREATE INDEX record_planned ON record (agency, kind, state) WHERE kind = 'piece' AND state = 'out_of_service' AND (body ->> 'planned') = 'true';

-- The states that a later one has replaced: history and the past. A state is moved here from `record`, so that each is kept once.
CREATE TABLE replaced (
    agency   UUID NOT NULL REFERENCES agency (id),
    rev      BIGINT NOT NULL,
    kind     TEXT NOT NULL,
    id       UUID NOT NULL,
    gone     BOOLEAN NOT NULL,
    district UUID,
    station  UUID,
    rig      UUID,
    body     JSON NOT NULL,
    PRIMARY KEY (agency, kind, id, rev)
);
CREATE INDEX replaced_by_rev ON replaced (agency, rev);
CREATE INDEX replaced_gone ON replaced (agency, rev) WHERE gone;

-- Every state that every record has or has had.
CREATE VIEW state AS
SELECT agency, rev, kind, id, gone, district, station, rig, body FROM record
UNION ALL
SELECT agency, rev, kind, id, gone, district, station, rig, body FROM replaced;

-- Which record ceased to belong to which place, and when: what the feed of the place tells as gone. `level`: `district`, `station`,
-- `rig` or `shop`.
CREATE TABLE departure (
    agency UUID NOT NULL REFERENCES agency (id),
    place  UUID NOT NULL,
    rev    BIGINT NOT NULL,
    kind   TEXT NOT NULL,
    id     UUID NOT NULL,
    level  TEXT NOT NULL,
    PRIMARY KEY (agency, place, rev, kind, id)
);
CREATE INDEX departure_by_rev ON departure (agency, rev);
CREATE INDEX departure_by_kind ON departure (agency, kind, level, rev);

-- The append-only record of every command. `hash` chains over the hash before it: `fullset verify` walks it. `record`: the main one
-- of those that it touched; the others are the states that carry its revision. `device`: the enrolled one that it came through.
CREATE TABLE journal (
    agency      UUID NOT NULL REFERENCES agency (id),
    rev         BIGINT NOT NULL,
    command     UUID NOT NULL,
    kind        TEXT NOT NULL,
    actor       UUID,
    actor_name  TEXT NOT NULL,
    actor_role  TEXT NOT NULL,
    at_raw      TIMESTAMPTZ NOT NULL,
    at          TIMESTAMPTZ NOT NULL,
    received_at TIMESTAMPTZ NOT NULL,
    skew_us     BIGINT NOT NULL,
    body        JSON NOT NULL,
    device      UUID,
    record_kind TEXT,
    record      UUID,
    hash        BYTEA NOT NULL,
    PRIMARY KEY (agency, rev)
);
CREATE UNIQUE INDEX journal_by_command ON journal (agency, command);
CREATE INDEX journal_by_time ON journal (agency, received_at);

-- How each rig stood, as closed intervals and one open one. `planned`: below full for planned service alone; `rule`: the rule
-- that it was judged by.
CREATE TABLE standing (
    agency      UUID NOT NULL REFERENCES agency (id),
    rig         UUID NOT NULL,
    from_rev    BIGINT NOT NULL,
    from_at     TIMESTAMPTZ NOT NULL,
    until_at    TIMESTAMPTZ,
    level       TEXT NOT NULL,
    holds_until TIMESTAMPTZ,
    planned     BOOLEAN NOT NULL,
    rule        BIGINT NOT NULL,
    PRIMARY KEY (agency, rig, from_rev)
);

-- What the clock must settle next: when the answer about a record runs out. One row for each record whose answer does.
-- `at` is the instant that is settled, `try_at` when it is next taken up (later than `at` after a failure), `tries` the
-- failures so far; `pending`: what it is judged by has changed, and it is judged anew in its turn.
CREATE TABLE lapse (
    agency  UUID NOT NULL REFERENCES agency (id),
    kind    TEXT NOT NULL,
    id      UUID NOT NULL,
    at      TIMESTAMPTZ NOT NULL,
    try_at  TIMESTAMPTZ NOT NULL,
    tries   BIGINT NOT NULL,
    pending BOOLEAN NOT NULL,
    PRIMARY KEY (agency, kind, id)
);
CREATE INDEX lapse_by_time ON lapse (at);
CREATE INDEX lapse_by_try ON lapse (agency, try_at);

CREATE TABLE credential (
    agency        UUID NOT NULL REFERENCES agency (id),
    member        UUID NOT NULL,
    email         TEXT NOT NULL UNIQUE,
    password_hash TEXT NOT NULL,
    PRIMARY KEY (agency, member)
);

-- One row for each refresh token ever issued; a family is one sign-in. `next_salt` is drawn when a token is spent: with the token's
-- own text, which is kept nowhere, it makes the one successor. Using a token whose successor is spent ends the family. A sign-in
-- belongs to a member or to a device, or to both: a phone is a member's, a tablet is a station's.
CREATE TABLE refresh_token (
    token_hash BYTEA NOT NULL PRIMARY KEY,
    family     UUID NOT NULL,
    agency     UUID NOT NULL REFERENCES agency (id),
    member     UUID,
    device     UUID,
    issued_at  TIMESTAMPTZ NOT NULL,
    expires_at TIMESTAMPTZ NOT NULL,
    spent_at   TIMESTAMPTZ,
    next_salt  BYTEA,
    ended_at   TIMESTAMPTZ,
    revoked    BOOLEAN NOT NULL DEFAULT FALSE
);
CREATE INDEX refresh_token_by_family ON refresh_token (family);
CREATE INDEX refresh_token_by_member ON refresh_token (agency, member);
CREATE INDEX refresh_token_by_device ON refresh_token (agency, device) WHERE device IS NOT NULL;
CREATE INDEX refresh_token_by_end ON refresh_token (ended_at) WHERE ended_at IS NOT NULL;

-- Codes that enrol a device, by hash. One with a station enrols a tablet of the station, one without the member's phone.
CREATE TABLE enrolment (
    agency     UUID NOT NULL REFERENCES agency (id),
    id         UUID NOT NULL,
    code_hash  BYTEA NOT NULL,
    member     UUID NOT NULL,
    sign_in    UUID NOT NULL,
    station    UUID,
    expires_at TIMESTAMPTZ NOT NULL,
    used_at    TIMESTAMPTZ,
    PRIMARY KEY (agency, id)
);
CREATE UNIQUE INDEX enrolment_by_code ON enrolment (code_hash);
CREATE INDEX enrolment_by_member ON enrolment (agency, member);

-- The key that a member's PIN makes, the keys of the PINs before it (32 bytes each, the latest first), and the checks of the wrong
-- keys that were tried since the last right signature (8 bytes each).
CREATE TABLE pin (
    agency     UUID NOT NULL REFERENCES agency (id),
    member     UUID NOT NULL,
    salt       BYTEA NOT NULL,
    iterations BIGINT NOT NULL,
    secret     BYTEA NOT NULL,
    former     BYTEA NOT NULL,
    wrong      BYTEA NOT NULL,
    PRIMARY KEY (agency, member)
);

CREATE TABLE signing_key (
    kid        TEXT NOT NULL PRIMARY KEY,
    created_at TIMESTAMPTZ NOT NULL,
    secret_pem TEXT NOT NULL,
    public_key TEXT NOT NULL
);

-- Photos that are here, by the SHA-256 of their bytes as they were sent. The pictures themselves are in the photo store.
CREATE TABLE photo (
    agency     UUID NOT NULL REFERENCES agency (id),
    sha256     TEXT NOT NULL,
    bytes      BIGINT NOT NULL,
    kept_bytes BIGINT NOT NULL,
    media      TEXT NOT NULL,
    width      BIGINT NOT NULL,
    height     BIGINT NOT NULL,
    member     UUID,
    stored_at  TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, sha256)
);

-- Parts of photos that are still being sent. `total`: bytes of the whole photo, as the sender said.
CREATE TABLE photo_part (
    agency  UUID NOT NULL REFERENCES agency (id),
    sha256  TEXT NOT NULL,
    start   BIGINT NOT NULL,
    size    BIGINT NOT NULL,
    total   BIGINT NOT NULL,
    bytes   BYTEA NOT NULL,
    sent_at TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, sha256, start)
);
CREATE INDEX photo_part_by_age ON photo_part (sent_at);

-- What each piece ran, as plans by uses and by running hours count it: a use (source: the use), with its minutes where somebody wrote them
-- down, or what its hour meter showed at a check (`meter`; source: the command).
CREATE TABLE piece_run (
    agency  UUID NOT NULL REFERENCES agency (id),
    piece   UUID NOT NULL,
    at      TIMESTAMPTZ NOT NULL,
    source  UUID NOT NULL,
    meter   BOOLEAN NOT NULL,
    minutes BIGINT,
    PRIMARY KEY (agency, piece, at, source)
);
CREATE INDEX piece_run_by_source ON piece_run (agency, source);

-- Secrets of calendar feeds, by the SHA-256 of each; one that was revoked is not here.
CREATE TABLE calendar_secret (
    agency UUID NOT NULL REFERENCES agency (id),
    feed   UUID NOT NULL,
    hash   BYTEA NOT NULL,
    PRIMARY KEY (agency, feed)
);
CREATE UNIQUE INDEX calendar_secret_by_hash ON calendar_secret (hash);
-- What the messages to each receiver are signed with.
CREATE TABLE receiver_secret (
    agency   UUID NOT NULL REFERENCES agency (id),
    receiver UUID NOT NULL,
    secret   BYTEA NOT NULL,
    PRIMARY KEY (agency, receiver)
);

-- Messages about alerts. `due_at`: when one is to be sent; NULL: it was taken, or given up. `leased_until`: until then another process
-- sends it. `code`: by it the receiver acknowledges. `tries`: how often sending failed since it was begun.
CREATE TABLE telling (
    agency       UUID NOT NULL REFERENCES agency (id),
    alert        UUID NOT NULL,
    receiver     UUID NOT NULL,
    code         TEXT NOT NULL,
    made_at      TIMESTAMPTZ NOT NULL,
    began_at     TIMESTAMPTZ NOT NULL,
    due_at       TIMESTAMPTZ,
    tries        BIGINT NOT NULL,
    leased_until TIMESTAMPTZ NOT NULL,
    PRIMARY KEY (agency, alert, receiver)
);
CREATE UNIQUE INDEX telling_by_code ON telling (code);
CREATE INDEX telling_by_due ON telling (due_at) WHERE due_at IS NOT NULL;
CREATE INDEX telling_by_age ON telling (made_at);
