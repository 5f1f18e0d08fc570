-- A history that holds an erasure cannot be told by the version before: then this step fails, and nothing is lost.
SET LOCAL lock_timeout = '5s';
ALTER TABLE changes DROP CONSTRAINT changes_op_ck;
ALTER TABLE changes
    ADD CONSTRAINT changes_op_ck CHECK (op IN ('create', 'change', 'remove'));
