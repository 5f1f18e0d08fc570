-- An id belongs to one kind of record in a program, for good: also after the record was removed. Where two kinds share an id
-- from before, it belongs to the one that had it first. Forced row security would hide every change from this backfill.
SET LOCAL lock_timeout = '5s';
CREATE TABLE record_ids (
    program_id uuid NOT NULL,
    id         uuid NOT NULL,
    noun       text NOT NULL,
    CONSTRAINT record_ids_pk PRIMARY KEY (program_id, id)
);

ALTER TABLE changes NO FORCE ROW LEVEL SECURITY;
INSERT INTO record_ids (program_id, id, noun)
    SELECT DISTINCT ON (program_id, record_id) program_id, record_id, noun FROM changes ORDER BY program_id, record_id, rev;
ALTER TABLE changes FORCE ROW LEVEL SECURITY;

ALTER TABLE record_ids ENABLE ROW LEVEL SECURITY;
ALTER TABLE record_ids FORCE ROW LEVEL SECURITY;
CREATE POLICY record_ids_of_program ON record_ids
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT ON record_ids TO cagework_service;
