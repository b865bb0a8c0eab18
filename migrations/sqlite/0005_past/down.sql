DROP INDEX change_log_gone;
DROP INDEX journal_by_time;
