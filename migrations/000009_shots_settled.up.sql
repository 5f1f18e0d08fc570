-- What somebody settled about a shot: its stint, the reading that counts, how far its finish point may be off.
SET LOCAL lock_timeout = '5s';
ALTER TABLE shots
    ADD COLUMN stint_id           uuid,
    ADD COLUMN finish_uncertain_m double precision,
    ADD COLUMN counted_reading_id uuid,
    ADD CONSTRAINT shots_stint_fk FOREIGN KEY (program_id, stint_id) REFERENCES stints (program_id, id),
    ADD CONSTRAINT shots_counted_reading_fk FOREIGN KEY (program_id, counted_reading_id)
        REFERENCES readings (program_id, id);
CREATE INDEX shots_stint_ix ON shots (program_id, stint_id);
CREATE INDEX shots_counted_reading_ix ON shots (program_id, counted_reading_id);
CREATE INDEX shots_unresolved_ix ON shots (program_id, id) WHERE faced_how = 'unresolved';
