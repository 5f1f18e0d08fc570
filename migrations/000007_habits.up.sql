-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

CREATE TABLE habits (
    program_id    uuid    NOT NULL,
    id            uuid    NOT NULL,
    rev           bigint  NOT NULL,
    code          text    NOT NULL,
    name          text    NOT NULL,
    definition    text    NOT NULL,
    edge_cases    text    NOT NULL,
    readable_on   jsonb   NOT NULL,
    codes_of_play text[]  NOT NULL,
    cause         integer NOT NULL,
    active        boolean NOT NULL,
    CONSTRAINT habits_pk PRIMARY KEY (program_id, id),
    CONSTRAINT habits_code_uq UNIQUE (program_id, code),
    CONSTRAINT habits_program_fk FOREIGN KEY (program_id) REFERENCES programs (id)
);

ALTER TABLE habits ENABLE ROW LEVEL SECURITY;
ALTER TABLE habits FORCE ROW LEVEL SECURITY;
CREATE POLICY habits_of_program ON habits
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON habits TO cagework_service;
