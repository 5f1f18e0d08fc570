-- The tenant. rev counts every change of the program in commit order: taking the next number locks the row.
CREATE TABLE programs (
    id        uuid   NOT NULL,
    name      text   NOT NULL,
    time_zone text   NOT NULL,
    units     text   NOT NULL,
    rev       bigint NOT NULL, -- the program record's own last write
    last_rev  bigint NOT NULL, -- the last number given out
    CONSTRAINT programs_pk PRIMARY KEY (id),
    CONSTRAINT programs_units_ck CHECK (units IN ('yards', 'metric'))
);

ALTER TABLE programs ENABLE ROW LEVEL SECURITY;
ALTER TABLE programs FORCE ROW LEVEL SECURITY;
CREATE POLICY programs_of_program ON programs
    USING (id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE ON programs TO cagework_service;

-- Every change of every record: who, when, which, and what it was before (nothing for a creation).
CREATE TABLE changes (
    program_id   uuid        NOT NULL,
    rev          bigint      NOT NULL,
    at           timestamptz NOT NULL,
    member_id    uuid,                 -- absent for a chore of whoever runs the service
    noun         text        NOT NULL,
    record_id    uuid        NOT NULL,
    op           text        NOT NULL,
    before       jsonb,
    before_found jsonb,
    CONSTRAINT changes_pk PRIMARY KEY (program_id, rev),
    CONSTRAINT changes_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT changes_op_ck CHECK (op IN ('create', 'change', 'remove'))
);
CREATE INDEX changes_record_ix ON changes (program_id, record_id, rev);

ALTER TABLE changes ENABLE ROW LEVEL SECURITY;
ALTER TABLE changes FORCE ROW LEVEL SECURITY;
CREATE POLICY changes_of_program ON changes
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT ON changes TO cagework_service;
