SET LOCAL lock_timeout = '5s';
ALTER TABLE goalies DROP COLUMN made_by;
