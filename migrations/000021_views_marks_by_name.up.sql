-- The places of marks that are given by name alone; every mark that is there already has a place of its own.
SET LOCAL lock_timeout = '5s';
ALTER TABLE views ADD COLUMN places jsonb NOT NULL DEFAULT '[]';
ALTER TABLE views ALTER COLUMN places DROP DEFAULT;
