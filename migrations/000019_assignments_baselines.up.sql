SET LOCAL lock_timeout = '5s';

ALTER TABLE assignments ADD COLUMN baselines jsonb;
