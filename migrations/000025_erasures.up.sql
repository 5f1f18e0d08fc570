-- Who was erased: the receipts, and the ids that never take a text again. No name stands here.
SET LOCAL lock_timeout = '5s';

CREATE TABLE erasures (
    program_id uuid        NOT NULL,
    id         uuid        NOT NULL, -- of the record that was erased
    rev        bigint      NOT NULL, -- of the record's change that tells of it
    noun       text        NOT NULL,
    at         timestamptz NOT NULL,
    member_id  uuid,                 -- absent for a chore of whoever runs the service
    kept_apart boolean     NOT NULL, -- on the list outside the database, too
    counts     jsonb       NOT NULL, -- how many records and changes of each kind were touched
    CONSTRAINT erasures_pk PRIMARY KEY (program_id, id),
    CONSTRAINT erasures_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT erasures_noun_ck CHECK (noun IN ('goalie', 'member'))
);

ALTER TABLE erasures ENABLE ROW LEVEL SECURITY;
ALTER TABLE erasures FORCE ROW LEVEL SECURITY;
CREATE POLICY erasures_of_program ON erasures
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
-- An erasure is never changed and never taken back.
GRANT SELECT, INSERT ON erasures TO cagework_service;
