CREATE TABLE members (
    program_id  uuid   NOT NULL,
    id          uuid   NOT NULL,
    rev         bigint NOT NULL,
    name        text   NOT NULL,
    role        text   NOT NULL,
    team_ids    uuid[] NOT NULL,
    goalie_ids  uuid[] NOT NULL,
    CONSTRAINT members_pk PRIMARY KEY (program_id, id),
    CONSTRAINT members_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT members_role_ck CHECK (role IN ('director', 'coach', 'recorder', 'viewer'))
);

ALTER TABLE members ENABLE ROW LEVEL SECURITY;
ALTER TABLE members FORCE ROW LEVEL SECURITY;
CREATE POLICY members_of_program ON members
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON members TO cagework_service;

CREATE TABLE tokens (
    program_id    uuid        NOT NULL,
    id            uuid        NOT NULL,
    rev           bigint      NOT NULL,
    member_id     uuid        NOT NULL,
    label         text        NOT NULL,
    expires_at    timestamptz NOT NULL,
    secret_sha256 bytea       NOT NULL,
    CONSTRAINT tokens_pk PRIMARY KEY (program_id, id),
    CONSTRAINT tokens_secret_uq UNIQUE (program_id, secret_sha256),
    CONSTRAINT tokens_member_fk FOREIGN KEY (program_id, member_id) REFERENCES members (program_id, id)
);
CREATE INDEX tokens_member_ix ON tokens (program_id, member_id);

ALTER TABLE tokens ENABLE ROW LEVEL SECURITY;
ALTER TABLE tokens FORCE ROW LEVEL SECURITY;
CREATE POLICY tokens_of_program ON tokens
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON tokens TO cagework_service;
