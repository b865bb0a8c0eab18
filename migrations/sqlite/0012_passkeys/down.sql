DROP TABLE passkey_answered;
DROP TABLE passkey;
