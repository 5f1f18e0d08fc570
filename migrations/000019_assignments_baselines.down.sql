SET LOCAL lock_timeout = '5s';

ALTER TABLE assignments DROP COLUMN baselines;
