SET LOCAL lock_timeout = '5s';
DROP INDEX shots_unresolved_ix;
ALTER TABLE shots
    DROP COLUMN stint_id,
    DROP COLUMN finish_uncertain_m,
    DROP COLUMN counted_reading_id;
