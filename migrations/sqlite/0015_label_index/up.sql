-- Of live records only. While PostgreSQL knows nothing yet of a table that grows, it takes an index that begins with agency and kind
-- for as good as the primary key, and walked a whole kind for each record that was looked up. What is looked up by its id may be
-- gone, so this index cannot be taken for it.
DROP INDEX record_by_label;
CREATE INDEX record_by_label ON record (agency, kind, label, id) WHERE NOT gone;
