CREATE INDEX standing_due ON standing (holds_until) WHERE until_at IS NULL AND holds_until IS NOT NULL;
DROP TABLE lapse;
