ALTER TABLE photo DROP COLUMN kept_hash;
