-- Which revision stood at an instant, and what has been deleted since.
CREATE INDEX journal_by_time ON journal (agency, received_at);
CREATE INDEX change_log_gone ON change_log (agency, rev) WHERE gone;
