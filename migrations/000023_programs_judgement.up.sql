-- The bounds of the judgement that a program sets itself, by their names; what is not there is the service's own.
SET LOCAL lock_timeout = '5s';
ALTER TABLE programs
    ADD COLUMN judgement jsonb NOT NULL DEFAULT '{}';
