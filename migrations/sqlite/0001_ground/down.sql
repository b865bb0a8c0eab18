DROP TABLE signing_key;
DROP TABLE refresh_token;
DROP TABLE credential;
DROP TABLE standing;
DROP TABLE journal;
DROP TABLE change_log;
DROP TABLE record;
DROP TABLE agency;
