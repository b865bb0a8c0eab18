ALTER TABLE standing DROP COLUMN planned;
