DROP INDEX record_gone;
DROP INDEX change_log_left_rig;
DROP INDEX change_log_left_station;
DROP INDEX change_log_left_district;
ALTER TABLE agency DROP COLUMN horizon;
