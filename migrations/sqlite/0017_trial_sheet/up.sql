-- What an evaluator of a field trial has answered about a candidate: apart from the records, because every member reads those. `answer` is
-- the record that says that it was handed in.
CREATE TABLE trial_sheet (
    agency BLOB NOT NULL REFERENCES agency (id),
    answer BLOB NOT NULL,
    trial  BLOB NOT NULL,
    body   TEXT NOT NULL,
    PRIMARY KEY (agency, answer)
);
CREATE INDEX trial_sheet_by_trial ON trial_sheet (agency, trial);
