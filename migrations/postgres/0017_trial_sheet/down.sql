DROP TABLE trial_sheet;
