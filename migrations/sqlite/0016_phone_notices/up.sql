-- Where notices to a member's phone go, as its browser gave it away (RFC 8030): `endpoint`, the address at its push service; `p256dh` and
-- `auth`, by which a notice is sealed for it alone (RFC 8291); `changes`, what it is told of, by their words with commas between. It
-- belongs to the sign-in within which it was made, and is told nothing once that has ended.
CREATE TABLE push_subscription (
    agency   BLOB NOT NULL REFERENCES agency (id),
    id       BLOB NOT NULL,
    member   BLOB NOT NULL,
    sign_in  BLOB NOT NULL,
    endpoint TEXT NOT NULL,
    p256dh   BLOB NOT NULL,
    auth     BLOB NOT NULL,
    name     TEXT NOT NULL,
    changes  TEXT NOT NULL,
    made_at  INTEGER NOT NULL,
    PRIMARY KEY (agency, id)
) WITHOUT ROWID;
CREATE UNIQUE INDEX push_subscription_by_endpoint ON push_subscription (endpoint);

-- The one key by which push services know this service (RFC 8292), kept as the signing keys are.
CREATE TABLE push_key (
    kid        TEXT NOT NULL PRIMARY KEY,
    created_at INTEGER NOT NULL,
    secret_pem TEXT NOT NULL,
    public_key TEXT NOT NULL
) WITHOUT ROWID;
