-- Rigs and pieces are judged by the agency's grades. Intervals that were judged by the older rule stay what they were: `rule` says
-- which one it was (1: by the class's list; 2: by the agency's grades).
ALTER TABLE standing ADD COLUMN rule INTEGER NOT NULL DEFAULT 1;

-- Answers of the older rule are no answers any more: every rig and piece is judged anew at the first start.
DELETE FROM lapse;
INSERT INTO lapse
SELECT agency, 'rig', id, '1970-01-01T00:00:00.000000Z', '1970-01-01T00:00:00.000000Z', 0, 1 FROM record WHERE kind = 'rig' AND gone = 0;
INSERT INTO lapse
SELECT agency, 'piece', id, '1970-01-01T00:00:00.000000Z', '1970-01-01T00:00:00.000000Z', 0, 1 FROM record
WHERE kind = 'piece' AND gone = 0 AND rig IS NULL AND state <> 'retired';
DELETE FROM record WHERE kind = 'capability';
DELETE FROM change_log WHERE kind = 'capability';

-- A slot is required or not; what a rig must be able to do is the grades' matter.
UPDATE record SET body = json_set(
    json_remove(body, '$.complement.simultaneous_min'), '$.complement.slots',
    (SELECT json_group_array(json_set(json_remove(s.value, '$.need'), '$.required', json(CASE json_extract(s.value, '$.need') WHEN 'optional' THEN 'false' ELSE 'true' END)))
     FROM json_each(record.body, '$.complement.slots') s))
WHERE kind = 'rig_class' AND json_type(body, '$.complement.slots') = 'array';
UPDATE record SET body = json_set(json_remove(body, '$.policy.unknown_age'), '$.policy.adapters', json('true'), '$.policy.unknown_hose_age', json('null'),
    '$.policy.pressure_tolerance', min(json_extract(body, '$.policy.pressure_tolerance'), 0.02))
WHERE kind = 'agency';
UPDATE record SET body = json_set(body, '$.class', 'other') WHERE kind = 'defect' AND json_type(body, '$.class') IS NULL;
UPDATE change_log SET body = json_set(
    json_remove(body, '$.complement.simultaneous_min'), '$.complement.slots',
    (SELECT json_group_array(json_set(json_remove(s.value, '$.need'), '$.required', json(CASE json_extract(s.value, '$.need') WHEN 'optional' THEN 'false' ELSE 'true' END)))
     FROM json_each(change_log.body, '$.complement.slots') s))
WHERE kind = 'rig_class' AND json_type(body, '$.complement.slots') = 'array';
UPDATE change_log SET body = json_set(json_remove(body, '$.policy.unknown_age'), '$.policy.adapters', json('true'), '$.policy.unknown_hose_age', json('null'),
    '$.policy.pressure_tolerance', min(json_extract(body, '$.policy.pressure_tolerance'), 0.02))
WHERE kind = 'agency';
UPDATE change_log SET body = json_set(body, '$.class', 'other') WHERE kind = 'defect' AND json_type(body, '$.class') IS NULL;
