-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

-- A browser that signed in. It is no record: it has no rev and no history, is never changed, and is gone when it ends. It
-- goes with its member, and with the token that it was opened with.
CREATE TABLE sessions (
    program_id    uuid        NOT NULL,
    id            uuid        NOT NULL,
    member_id     uuid        NOT NULL,
    token_id      uuid,
    secret_sha256 bytea       NOT NULL,
    made_at       timestamptz NOT NULL,
    expires_at    timestamptz NOT NULL,
    CONSTRAINT sessions_pk PRIMARY KEY (program_id, id),
    CONSTRAINT sessions_secret_uq UNIQUE (program_id, secret_sha256),
    CONSTRAINT sessions_member_fk FOREIGN KEY (program_id, member_id) REFERENCES members (program_id, id) ON DELETE CASCADE,
    CONSTRAINT sessions_token_fk FOREIGN KEY (program_id, token_id) REFERENCES tokens (program_id, id) ON DELETE CASCADE
);
CREATE INDEX sessions_member_ix ON sessions (program_id, member_id);
CREATE INDEX sessions_token_ix ON sessions (program_id, token_id);
CREATE INDEX sessions_expiry_ix ON sessions (program_id, expires_at);

ALTER TABLE sessions ENABLE ROW LEVEL SECURITY;
ALTER TABLE sessions FORCE ROW LEVEL SECURITY;
CREATE POLICY sessions_of_program ON sessions
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
-- A session is never prolonged.
GRANT SELECT, INSERT, DELETE ON sessions TO cagework_service;
