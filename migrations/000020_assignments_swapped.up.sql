-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

ALTER TABLE assignments
    ADD COLUMN rule_id        uuid,
    ADD COLUMN swapped_for_id uuid,
    ADD CONSTRAINT assignments_rule_fk FOREIGN KEY (program_id, rule_id) REFERENCES rules (program_id, id),
    ADD CONSTRAINT assignments_swapped_for_fk FOREIGN KEY (program_id, swapped_for_id)
        REFERENCES assignments (program_id, id),
    ADD CONSTRAINT assignments_swapped_for_ck
        CHECK (swapped_for_id IS NULL OR status = 'dropped' AND swapped_for_id <> id);
CREATE INDEX assignments_rule_ix ON assignments (program_id, rule_id);
CREATE INDEX assignments_swapped_for_ix ON assignments (program_id, swapped_for_id);
