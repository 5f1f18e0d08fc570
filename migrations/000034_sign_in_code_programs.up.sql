-- Which program a sign-in code is of: a code that a person can type is too short to name it. The one table across
-- programs: it holds hashes and programs' ids, nothing else, and each row for minutes.
CREATE TABLE sign_in_code_programs (
    code_sha256 bytea       NOT NULL,
    program_id  uuid        NOT NULL,
    expires_at  timestamptz NOT NULL,
    CONSTRAINT sign_in_code_programs_pk PRIMARY KEY (code_sha256)
);
CREATE INDEX sign_in_code_programs_expiry_ix ON sign_in_code_programs (expires_at);

GRANT SELECT, INSERT, DELETE ON sign_in_code_programs TO cagework_service;
