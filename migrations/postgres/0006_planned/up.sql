-- Whether a rig was below full for planned service alone. What was before this was not told apart.
ALTER TABLE standing ADD COLUMN planned BOOLEAN NOT NULL DEFAULT FALSE;

-- What is out for planned service: a few pieces among many.
CREATE INDEX record_planned ON record (agency, kind, state) WHERE kind = 'piece' AND state = 'out_of_service' AND (body ->> 'planned') = 'true';
