-- Rigs and pieces are judged by the agency's grades. Intervals that were judged by the older rule stay what they were: `rule` says
-- which one it was (1: by the class's list; 2: by the agency's grades).
ALTER TABLE standing ADD COLUMN rule BIGINT NOT NULL DEFAULT 1;

-- Answers of the older rule are no answers any more: every rig and piece is judged anew at the first start.
DELETE FROM lapse;
INSERT INTO lapse
SELECT agency, 'rig', id, TIMESTAMPTZ '1970-01-01 00:00:00+00', TIMESTAMPTZ '1970-01-01 00:00:00+00', 0, TRUE FROM record WHERE kind = 'rig' AND NOT gone;
INSERT INTO lapse
SELECT agency, 'piece', id, TIMESTAMPTZ '1970-01-01 00:00:00+00', TIMESTAMPTZ '1970-01-01 00:00:00+00', 0, TRUE FROM record
WHERE kind = 'piece' AND NOT gone AND rig IS NULL AND state <> 'retired';
DELETE FROM record WHERE kind = 'capability';
DELETE FROM change_log WHERE kind = 'capability';

-- A slot is required or not; what a rig must be able to do is the grades' matter.
UPDATE record SET body = jsonb_set(
    body::jsonb #- '{complement,simultaneous_min}', '{complement,slots}',
    (SELECT coalesce(jsonb_agg((s.value - 'need') || jsonb_build_object('required', s.value ->> 'need' IS DISTINCT FROM 'optional') ORDER BY s.n), '[]')
     FROM jsonb_array_elements(record.body::jsonb #> '{complement,slots}') WITH ORDINALITY AS s(value, n)))::json
WHERE kind = 'rig_class' AND jsonb_typeof(body::jsonb #> '{complement,slots}') = 'array';
UPDATE record SET body = jsonb_set(body::jsonb, '{policy}', ((body::jsonb -> 'policy') - 'unknown_age')
    || jsonb_build_object('adapters', true, 'unknown_hose_age', NULL, 'pressure_tolerance', least((body::jsonb #>> '{policy,pressure_tolerance}')::numeric, 0.02)))::json
WHERE kind = 'agency';
UPDATE record SET body = jsonb_set(body::jsonb, '{class}', '"other"')::json WHERE kind = 'defect' AND NOT jsonb_exists(body::jsonb, 'class');
UPDATE change_log SET body = jsonb_set(
    body::jsonb #- '{complement,simultaneous_min}', '{complement,slots}',
    (SELECT coalesce(jsonb_agg((s.value - 'need') || jsonb_build_object('required', s.value ->> 'need' IS DISTINCT FROM 'optional') ORDER BY s.n), '[]')
     FROM jsonb_array_elements(change_log.body::jsonb #> '{complement,slots}') WITH ORDINALITY AS s(value, n)))::json
WHERE kind = 'rig_class' AND jsonb_typeof(body::jsonb #> '{complement,slots}') = 'array';
UPDATE change_log SET body = jsonb_set(body::jsonb, '{policy}', ((body::jsonb -> 'policy') - 'unknown_age')
    || jsonb_build_object('adapters', true, 'unknown_hose_age', NULL, 'pressure_tolerance', least((body::jsonb #>> '{policy,pressure_tolerance}')::numeric, 0.02)))::json
WHERE kind = 'agency';
UPDATE change_log SET body = jsonb_set(body::jsonb, '{class}', '"other"')::json WHERE kind = 'defect' AND NOT jsonb_exists(body::jsonb, 'class');
