-- Deleted records up to this revision are forgotten: a feed token from before it asks for a new snapshot.
ALTER TABLE agency ADD COLUMN horizon BIGINT NOT NULL DEFAULT 0;

-- What left a district, a station or a rig, for the feeds of one.
CREATE INDEX change_log_left_district ON change_log (agency, left_district, rev) WHERE left_district IS NOT NULL;
CREATE INDEX change_log_left_station ON change_log (agency, left_station, rev) WHERE left_station IS NOT NULL;
CREATE INDEX change_log_left_rig ON change_log (agency, left_rig, rev) WHERE left_rig IS NOT NULL;
CREATE INDEX record_gone ON record (agency, rev) WHERE gone;
