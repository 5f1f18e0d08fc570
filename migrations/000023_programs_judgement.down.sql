SET LOCAL lock_timeout = '5s';
ALTER TABLE programs
    DROP COLUMN judgement;
