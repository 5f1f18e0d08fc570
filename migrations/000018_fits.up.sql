-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

-- What is only read back whole is json, not jsonb: it stays as it was written, digit by digit.
CREATE TABLE fits (
    program_id   uuid             NOT NULL,
    id           uuid             NOT NULL,
    rev          bigint           NOT NULL,
    code_of_play text             NOT NULL,
    level        text             NOT NULL,
    fitted_on    date             NOT NULL,
    from_on      date,
    to_on        date,
    shots        integer          NOT NULL,
    saves        integer          NOT NULL,
    goalies      integer          NOT NULL,
    enough       boolean          NOT NULL,
    reason       text             NOT NULL,
    pooled_rate  double precision NOT NULL,
    scores       json,
    habits       json             NOT NULL,
    model        json,
    CONSTRAINT fits_pk PRIMARY KEY (program_id, id),
    CONSTRAINT fits_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT fits_code_of_play_ck CHECK (code_of_play IN ('mens_field', 'womens_field', 'box', 'sixes')),
    CONSTRAINT fits_level_ck CHECK (level IN ('10u', '12u', '14u', 'high_school', 'college'))
);
CREATE INDEX fits_newest_ix ON fits (program_id, code_of_play, level, fitted_on DESC, id DESC);

ALTER TABLE fits ENABLE ROW LEVEL SECURITY;
ALTER TABLE fits FORCE ROW LEVEL SECURITY;
CREATE POLICY fits_of_program ON fits
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
-- A fit is never changed and never removed.
GRANT SELECT, INSERT ON fits TO cagework_service;
