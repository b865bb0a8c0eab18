-- One row for each agency: the revision counter whose order is commit order, the head of the journal's chain of hashes, and
-- `horizon`: deleted records up to this revision are forgotten, so that a feed token from before it asks for a new snapshot.
CREATE TABLE agency (
    id           BLOB NOT NULL PRIMARY KEY,
    rev          INTEGER NOT NULL,
    journal_head BLOB NOT NULL,
    created_at   INTEGER NOT NULL,
    horizon      INTEGER NOT NULL DEFAULT 0
) WITHOUT ROWID;

-- The state of every record as it is now, and what it is found by. `district`, `station`, `rig`, `shop`: where it is. `home_*`:
-- where it has its home, where that is not the place that it is at. `renamed`: the revision that last gave it another label.
CREATE TABLE record (
    agency        BLOB NOT NULL REFERENCES agency (id),
    kind          TEXT NOT NULL,
    id            BLOB NOT NULL,
    rev           INTEGER NOT NULL,
    gone          INTEGER NOT NULL,
    label         TEXT NOT NULL,
    uniq          TEXT,
    mark          TEXT,
    state         TEXT NOT NULL,
    parent        BLOB,
    district      BLOB,
    station       BLOB,
    rig           BLOB,
    shop          BLOB,
    home_district BLOB,
    home_station  BLOB,
    home_rig      BLOB,
    renamed       INTEGER,
    body          TEXT NOT NULL,
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
CREATE INDEX record_planned ON record (agency, kind, state) WHERE kind = 'piece' AND state = 'out_of_service' AND json_extract(body, '$.planned');

-- The states that a later one has replaced: history and the past. A state is moved here from `record`, so that each is kept once.
CREATE TABLE replaced (
    agency   BLOB NOT NULL REFERENCES agency (id),
    rev      INTEGER NOT NULL,
    kind     TEXT NOT NULL,
    id       BLOB NOT NULL,
    gone     INTEGER NOT NULL,
    district BLOB,
    station  BLOB,
    rig      BLOB,
    body     TEXT NOT NULL,
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
    agency BLOB NOT NULL REFERENCES agency (id),
    place  BLOB NOT NULL,
    rev    INTEGER NOT NULL,
    kind   TEXT NOT NULL,
    id     BLOB NOT NULL,
    level  TEXT NOT NULL,
    PRIMARY KEY (agency, place, rev, kind, id)
) WITHOUT ROWID;
CREATE INDEX departure_by_rev ON departure (agency, rev);
CREATE INDEX departure_by_kind ON departure (agency, kind, level, rev);

-- The append-only record of every command. `hash` chains over the hash before it: `fullset verify` walks it. `record`: the main one
-- of those that it touched; the others are the states that carry its revision. `device`: the enrolled one that it came through.
CREATE TABLE journal (
    agency      BLOB NOT NULL REFERENCES agency (id),
    rev         INTEGER NOT NULL,
    command     BLOB NOT NULL,
    kind        TEXT NOT NULL,
    actor       BLOB,
    actor_name  TEXT NOT NULL,
    actor_role  TEXT NOT NULL,
    at_raw      INTEGER NOT NULL,
    at          INTEGER NOT NULL,
    received_at INTEGER NOT NULL,
    skew_us     INTEGER NOT NULL,
    body        TEXT NOT NULL,
    device      BLOB,
    record_kind TEXT,
    record      BLOB,
    hash        BLOB NOT NULL,
    PRIMARY KEY (agency, rev)
);
CREATE UNIQUE INDEX journal_by_command ON journal (agency, command);
CREATE INDEX journal_by_time ON journal (agency, received_at);

-- How each rig stood, as closed intervals and one open one. `planned`: below full for planned service alone; `rule`: the rule
-- that it was judged by.
CREATE TABLE standing (
    agency      BLOB NOT NULL REFERENCES agency (id),
    rig         BLOB NOT NULL,
    from_rev    INTEGER NOT NULL,
    from_at     INTEGER NOT NULL,
    until_at    INTEGER,
    level       TEXT NOT NULL,
    holds_until INTEGER,
    planned     INTEGER NOT NULL,
    rule        INTEGER NOT NULL,
    PRIMARY KEY (agency, rig, from_rev)
) WITHOUT ROWID;

-- What the clock must settle next: when the answer about a record runs out. One row for each record whose answer does.
-- `at` is the instant that is settled, `try_at` when it is next taken up (later than `at` after a failure), `tries` the
-- failures so far; `pending`: what it is judged by has changed, and it is judged anew in its turn.
CREATE TABLE lapse (
    agency  BLOB NOT NULL REFERENCES agency (id),
    kind    TEXT NOT NULL,
    id      BLOB NOT NULL,
    at      INTEGER NOT NULL,
    try_at  INTEGER NOT NULL,
    tries   INTEGER NOT NULL,
    pending INTEGER NOT NULL,
    PRIMARY KEY (agency, kind, id)
) WITHOUT ROWID;
CREATE INDEX lapse_by_time ON lapse (at);
CREATE INDEX lapse_by_try ON lapse (agency, try_at);

CREATE TABLE credential (
    agency        BLOB NOT NULL REFERENCES agency (id),
    member        BLOB NOT NULL,
    email         TEXT NOT NULL UNIQUE,
    password_hash TEXT NOT NULL,
    PRIMARY KEY (agency, member)
) WITHOUT ROWID;

-- One row for each refresh token ever issued; a family is one sign-in. `next_salt` is drawn when a token is spent: with the token's
-- own text, which is kept nowhere, it makes the one successor. Using a token whose successor is spent ends the family. A sign-in
-- belongs to a member or to a device, or to both: a phone is a member's, a tablet is a station's.
CREATE TABLE refresh_token (
    token_hash BLOB NOT NULL PRIMARY KEY,
    family     BLOB NOT NULL,
    agency     BLOB NOT NULL REFERENCES agency (id),
    member     BLOB,
    device     BLOB,
    issued_at  INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    spent_at   INTEGER,
    next_salt  BLOB,
    ended_at   INTEGER,
    revoked    INTEGER NOT NULL DEFAULT 0
) WITHOUT ROWID;
CREATE INDEX refresh_token_by_family ON refresh_token (family);
CREATE INDEX refresh_token_by_member ON refresh_token (agency, member);
CREATE INDEX refresh_token_by_device ON refresh_token (agency, device) WHERE device IS NOT NULL;
CREATE INDEX refresh_token_by_end ON refresh_token (ended_at) WHERE ended_at IS NOT NULL;

-- Codes that enrol a device, by hash. One with a station enrols a tablet of the station, one without the member's phone.
CREATE TABLE enrolment (
    agency     BLOB NOT NULL REFERENCES agency (id),
    id         BLOB NOT NULL,
    code_hash  BLOB NOT NULL,
    member     BLOB NOT NULL,
    sign_in    BLOB NOT NULL,
    station    BLOB,
    expires_at INTEGER NOT NULL,
    used_at    INTEGER,
    PRIMARY KEY (agency, id)
) WITHOUT ROWID;
CREATE UNIQUE INDEX enrolment_by_code ON enrolment (code_hash);
CREATE INDEX enrolment_by_member ON enrolment (agency, member);

-- The key that a member's PIN makes, the keys of the PINs before it (32 bytes each, the latest first), and the checks of the wrong
-- keys that were tried since the last right signature (8 bytes each).
CREATE TABLE pin (
    agency     BLOB NOT NULL REFERENCES agency (id),
    member     BLOB NOT NULL,
    salt       BLOB NOT NULL,
    iterations INTEGER NOT NULL,
    secret     BLOB NOT NULL,
    former     BLOB NOT NULL,
    wrong      BLOB NOT NULL,
    PRIMARY KEY (agency, member)
) WITHOUT ROWID;

CREATE TABLE signing_key (
    kid        TEXT NOT NULL PRIMARY KEY,
    created_at INTEGER NOT NULL,
    secret_pem TEXT NOT NULL,
    public_key TEXT NOT NULL
) WITHOUT ROWID;

-- Photos that are here, by the SHA-256 of their bytes as they were sent. The pictures themselves are in the photo store.
CREATE TABLE photo (
    agency     BLOB NOT NULL REFERENCES agency (id),
    sha256     TEXT NOT NULL,
    bytes      INTEGER NOT NULL,
    kept_bytes INTEGER NOT NULL,
    media      TEXT NOT NULL,
    width      INTEGER NOT NULL,
    height     INTEGER NOT NULL,
    member     BLOB,
    stored_at  INTEGER NOT NULL,
    PRIMARY KEY (agency, sha256)
) WITHOUT ROWID;

-- Parts of photos that are still being sent. `total`: bytes of the whole photo, as the sender said.
CREATE TABLE photo_part (
    agency  BLOB NOT NULL REFERENCES agency (id),
    sha256  TEXT NOT NULL,
    start   INTEGER NOT NULL,
    size    INTEGER NOT NULL,
    total   INTEGER NOT NULL,
    bytes   BLOB NOT NULL,
    sent_at INTEGER NOT NULL,
    PRIMARY KEY (agency, sha256, start)
);
CREATE INDEX photo_part_by_age ON photo_part (sent_at);

-- What each piece ran, as plans by uses and by running hours count it: a use (source: the use), with its minutes where somebody wrote them
-- down, or what its hour meter showed at a check (`meter`; source: the command).
CREATE TABLE piece_run (
    agency  BLOB NOT NULL REFERENCES agency (id),
    piece   BLOB NOT NULL,
    at      INTEGER NOT NULL,
    source  BLOB NOT NULL,
    meter   INTEGER NOT NULL,
    minutes INTEGER,
    PRIMARY KEY (agency, piece, at, source)
) WITHOUT ROWID;
CREATE INDEX piece_run_by_source ON piece_run (agency, source);

-- Secrets of calendar feeds, by the SHA-256 of each; one that was revoked is not here.
CREATE TABLE calendar_secret (
    agency BLOB NOT NULL REFERENCES agency (id),
    feed   BLOB NOT NULL,
    hash   BLOB NOT NULL,
    PRIMARY KEY (agency, feed)
) WITHOUT ROWID;
CREATE UNIQUE INDEX calendar_secret_by_hash ON calendar_secret (hash);
-- What the messages to each receiver are signed with.
CREATE TABLE receiver_secret (
    agency   BLOB NOT NULL REFERENCES agency (id),
    receiver BLOB NOT NULL,
    secret   BLOB NOT NULL,
    PRIMARY KEY (agency, receiver)
) WITHOUT ROWID;

-- Messages about alerts. `due_at`: when one is to be sent; NULL: it was taken, or given up. `leased_until`: until then another process
-- sends it. `code`: by it the receiver acknowledges. `tries`: how often sending failed since it was begun.
CREATE TABLE telling (
    agency       BLOB NOT NULL REFERENCES agency (id),
    alert        BLOB NOT NULL,
    receiver     BLOB NOT NULL,
    code         TEXT NOT NULL,
    made_at      INTEGER NOT NULL,
    began_at     INTEGER NOT NULL,
    due_at       INTEGER,
    tries        INTEGER NOT NULL,
    leased_until INTEGER NOT NULL,
    PRIMARY KEY (agency, alert, receiver)
) WITHOUT ROWID;
CREATE UNIQUE INDEX telling_by_code ON telling (code);
CREATE INDEX telling_by_due ON telling (due_at) WHERE due_at IS NOT NULL;
CREATE INDEX telling_by_age ON telling (made_at);
