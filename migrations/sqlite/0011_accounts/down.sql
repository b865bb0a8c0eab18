DROP TABLE api_key_secret;
DROP TABLE access_event;
DROP TABLE recovery_code;
DROP TABLE second_factor;
DROP TABLE access_link;
DROP TABLE sign_in;
