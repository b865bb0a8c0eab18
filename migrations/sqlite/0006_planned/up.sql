-- Whether a rig was below full for planned service alone. What was before this was not told apart.
ALTER TABLE standing ADD COLUMN planned INTEGER NOT NULL DEFAULT 0;
