DROP TABLE pin;
DROP TABLE enrolment;
DROP INDEX refresh_token_by_end;
DROP INDEX refresh_token_by_device;
DELETE FROM refresh_token WHERE member IS NULL;
ALTER TABLE refresh_token DROP COLUMN revoked;
ALTER TABLE refresh_token DROP COLUMN device;
ALTER TABLE refresh_token ALTER COLUMN member SET NOT NULL;
