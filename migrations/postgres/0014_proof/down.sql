ALTER TABLE sign_in DROP COLUMN proven_at;
