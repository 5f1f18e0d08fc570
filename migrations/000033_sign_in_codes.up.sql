-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

-- A code that opens one session within minutes of being made. It is gone when it was used, and goes with its member and with
-- the token of whoever made it.
CREATE TABLE sign_in_codes (
    program_id  uuid        NOT NULL,
    code_sha256 bytea       NOT NULL,
    member_id   uuid        NOT NULL,
    token_id    uuid,
    expires_at  timestamptz NOT NULL,
    CONSTRAINT sign_in_codes_pk PRIMARY KEY (program_id, code_sha256),
    CONSTRAINT sign_in_codes_member_fk FOREIGN KEY (program_id, member_id) REFERENCES members (program_id, id) ON DELETE CASCADE,
    CONSTRAINT sign_in_codes_token_fk FOREIGN KEY (program_id, token_id) REFERENCES tokens (program_id, id) ON DELETE CASCADE
);
CREATE INDEX sign_in_codes_member_ix ON sign_in_codes (program_id, member_id);
CREATE INDEX sign_in_codes_token_ix ON sign_in_codes (program_id, token_id);
CREATE INDEX sign_in_codes_expiry_ix ON sign_in_codes (program_id, expires_at);

ALTER TABLE sign_in_codes ENABLE ROW LEVEL SECURITY;
ALTER TABLE sign_in_codes FORCE ROW LEVEL SECURITY;
CREATE POLICY sign_in_codes_of_program ON sign_in_codes
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, DELETE ON sign_in_codes TO cagework_service;
