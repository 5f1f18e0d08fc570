SET LOCAL lock_timeout = '5s';
ALTER TABLE competitions DROP COLUMN unconfirmed;
