-- The bounds of the judgement that a program sets itself, by their names; what is not there is the service's own. The default
-- is for the programs that are there.
SET LOCAL lock_timeout = '5s';
ALTER TABLE programs
    ADD COLUMN judgement jsonb NOT NULL DEFAULT '{}';
ALTER TABLE programs
    ALTER COLUMN judgement DROP DEFAULT;
