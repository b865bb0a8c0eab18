DROP TABLE push_key;
DROP TABLE push_subscription;
