-- A change can be an erasure too: the record is there still, or was removed, and its text is gone.
SET LOCAL lock_timeout = '5s';
ALTER TABLE changes DROP CONSTRAINT changes_op_ck;
ALTER TABLE changes
    ADD CONSTRAINT changes_op_ck CHECK (op IN ('create', 'change', 'remove', 'erase'));
