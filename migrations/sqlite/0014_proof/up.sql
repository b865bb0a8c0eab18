-- When the password was last given within a sign-in. One from before has none.
ALTER TABLE sign_in ADD COLUMN proven_at BIGINT;
