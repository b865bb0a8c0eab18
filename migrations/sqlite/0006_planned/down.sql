DROP INDEX record_planned;
ALTER TABLE standing DROP COLUMN planned;
