-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

-- Who looked at what. Entries take no change number and lock nothing that a writer waits for: the key to the program is
-- shared with who takes numbers. Members, tokens and records are named without a key, for they may go and the entry stays.
CREATE TABLE accesses (
    program_id  uuid        NOT NULL,
    id          uuid        NOT NULL, -- begins with its instant, or with its hour when it is noted once an hour
    at          timestamptz NOT NULL,
    member_id   uuid,                 -- absent for a chore of whoever runs the service
    token_id    uuid,
    session_id  uuid,
    action      text        NOT NULL,
    noun        text        NOT NULL,
    record_noun text,
    record_id   uuid,
    lost_count  bigint,               -- how many entries are missing, and from when to when
    lost_from   timestamptz,
    lost_to     timestamptz,
    CONSTRAINT accesses_pk PRIMARY KEY (program_id, id),
    CONSTRAINT accesses_program_fk FOREIGN KEY (program_id) REFERENCES programs (id)
);
CREATE INDEX accesses_record_ix ON accesses (program_id, record_id, id);
CREATE INDEX accesses_member_ix ON accesses (program_id, member_id, id);

ALTER TABLE accesses ENABLE ROW LEVEL SECURITY;
ALTER TABLE accesses FORCE ROW LEVEL SECURITY;
CREATE POLICY accesses_of_program ON accesses
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
-- Only ever added.
GRANT SELECT, INSERT ON accesses TO cagework_service;
