CREATE TABLE targets (
    program_id uuid    NOT NULL,
    id         uuid    NOT NULL,
    rev        bigint  NOT NULL,
    code       text    NOT NULL,
    name       text    NOT NULL,
    cue        text    NOT NULL,
    of_shots   jsonb   NOT NULL, -- "of" in JSON; a reserved word is awkward in SQL
    hit        jsonb   NOT NULL,
    kinds      text[]  NOT NULL,
    weeks      integer NOT NULL,
    min_tries  integer NOT NULL,
    cause      integer NOT NULL,
    rates      jsonb   NOT NULL,
    active     boolean NOT NULL,
    CONSTRAINT targets_pk PRIMARY KEY (program_id, id),
    CONSTRAINT targets_code_uq UNIQUE (program_id, code),
    CONSTRAINT targets_program_fk FOREIGN KEY (program_id) REFERENCES programs (id)
);

ALTER TABLE targets ENABLE ROW LEVEL SECURITY;
ALTER TABLE targets FORCE ROW LEVEL SECURITY;
CREATE POLICY targets_of_program ON targets
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON targets TO cagework_service;

CREATE TABLE drills (
    program_id    uuid    NOT NULL,
    id            uuid    NOT NULL,
    rev           bigint  NOT NULL,
    code          text    NOT NULL,
    name          text    NOT NULL,
    purpose       text    NOT NULL,
    set_up        text    NOT NULL,
    levels        text[]  NOT NULL,
    codes_of_play text[]  NOT NULL,
    kit           text    NOT NULL,
    ball          text    NOT NULL,
    effort        text    NOT NULL,
    minutes       integer NOT NULL,
    repetitions   integer NOT NULL,
    times_a_week  integer NOT NULL,
    cautions      text[]  NOT NULL,
    active        boolean NOT NULL,
    CONSTRAINT drills_pk PRIMARY KEY (program_id, id),
    CONSTRAINT drills_code_uq UNIQUE (program_id, code),
    CONSTRAINT drills_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT drills_ball_ck CHECK (ball IN ('none', 'own', 'soft', 'live')),
    CONSTRAINT drills_effort_ck CHECK (effort IN ('easy', 'moderate', 'hard'))
);

ALTER TABLE drills ENABLE ROW LEVEL SECURITY;
ALTER TABLE drills FORCE ROW LEVEL SECURITY;
CREATE POLICY drills_of_program ON drills
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON drills TO cagework_service;

CREATE TABLE rules (
    program_id    uuid    NOT NULL,
    id            uuid    NOT NULL,
    rev           bigint  NOT NULL,
    name          text    NOT NULL,
    target_id     uuid    NOT NULL,
    states        text[]  NOT NULL,
    levels        text[]  NOT NULL,
    codes_of_play text[]  NOT NULL,
    drill_id      uuid    NOT NULL,
    minutes       integer NOT NULL,
    repetitions   integer NOT NULL,
    times_a_week  integer NOT NULL,
    priority      integer NOT NULL,
    active        boolean NOT NULL,
    CONSTRAINT rules_pk PRIMARY KEY (program_id, id),
    CONSTRAINT rules_target_fk FOREIGN KEY (program_id, target_id) REFERENCES targets (program_id, id),
    CONSTRAINT rules_drill_fk FOREIGN KEY (program_id, drill_id) REFERENCES drills (program_id, id)
);
CREATE INDEX rules_target_ix ON rules (program_id, target_id);
CREATE INDEX rules_drill_ix ON rules (program_id, drill_id);

ALTER TABLE rules ENABLE ROW LEVEL SECURITY;
ALTER TABLE rules FORCE ROW LEVEL SECURITY;
CREATE POLICY rules_of_program ON rules
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON rules TO cagework_service;
