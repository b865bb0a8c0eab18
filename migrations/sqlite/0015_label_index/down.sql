DROP INDEX record_by_label;
CREATE INDEX record_by_label ON record (agency, kind, label, id);
