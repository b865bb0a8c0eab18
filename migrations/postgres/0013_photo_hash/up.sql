-- The SHA-256 of what is kept of a photo: the picture's bytes, then the thumbnail's. A photo from before has none.
ALTER TABLE photo ADD COLUMN kept_hash TEXT;
