SET LOCAL lock_timeout = '5s';

ALTER TABLE assignments
    DROP COLUMN rule_id,
    DROP COLUMN swapped_for_id;
