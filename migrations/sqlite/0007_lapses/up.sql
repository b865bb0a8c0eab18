-- What the clock must settle next: when the answer about a record runs out. One row for each record whose answer does.
-- `at` is the instant that is settled, `try_at` when it is next taken up (later than `at` after a failure), `tries` the
-- failures so far; `pending`: what it is judged by has changed, and it is judged anew in its turn.
CREATE TABLE lapse (
    agency  BLOB    NOT NULL REFERENCES agency (id),
    kind    TEXT    NOT NULL,
    id      BLOB    NOT NULL,
    at      TEXT    NOT NULL,
    try_at  TEXT    NOT NULL,
    tries   INTEGER NOT NULL,
    pending INTEGER NOT NULL,
    PRIMARY KEY (agency, kind, id)
) WITHOUT ROWID;
CREATE INDEX lapse_by_time ON lapse (at);
CREATE INDEX lapse_by_try ON lapse (agency, try_at);

INSERT INTO lapse
SELECT agency, 'rig', rig, holds_until, holds_until, 0, 0 FROM standing WHERE until_at IS NULL AND holds_until IS NOT NULL;

-- The open intervals are no longer searched by when they run out.
DROP INDEX standing_due;
