-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

CREATE TABLE assignments (
    program_id   uuid    NOT NULL,
    id           uuid    NOT NULL,
    rev          bigint  NOT NULL,
    goalie_id    uuid    NOT NULL,
    target_id    uuid    NOT NULL,
    drill_id     uuid    NOT NULL,
    minutes      integer NOT NULL,
    repetitions  integer NOT NULL,
    times_a_week integer NOT NULL,
    starts_on    date    NOT NULL,
    weeks        integer NOT NULL,
    status       text    NOT NULL,
    reason       text,
    CONSTRAINT assignments_pk PRIMARY KEY (program_id, id),
    CONSTRAINT assignments_goalie_fk FOREIGN KEY (program_id, goalie_id) REFERENCES goalies (program_id, id),
    CONSTRAINT assignments_target_fk FOREIGN KEY (program_id, target_id) REFERENCES targets (program_id, id),
    CONSTRAINT assignments_drill_fk FOREIGN KEY (program_id, drill_id) REFERENCES drills (program_id, id),
    CONSTRAINT assignments_status_ck CHECK (status IN ('assigned', 'dropped', 'finished')),
    CONSTRAINT assignments_reason_ck CHECK (status <> 'dropped' OR reason IS NOT NULL)
);
CREATE INDEX assignments_goalie_ix ON assignments (program_id, goalie_id, id);
CREATE INDEX assignments_target_ix ON assignments (program_id, target_id);
CREATE INDEX assignments_drill_ix ON assignments (program_id, drill_id);

ALTER TABLE assignments ENABLE ROW LEVEL SECURITY;
ALTER TABLE assignments FORCE ROW LEVEL SECURITY;
CREATE POLICY assignments_of_program ON assignments
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON assignments TO cagework_service;

CREATE TABLE practice_logs (
    program_id   uuid    NOT NULL,
    id           uuid    NOT NULL,
    rev          bigint  NOT NULL,
    goalie_id    uuid    NOT NULL,
    team_id      uuid    NOT NULL,
    practised_on date    NOT NULL,
    done         jsonb   NOT NULL,
    team_shots   integer NOT NULL,
    CONSTRAINT practice_logs_pk PRIMARY KEY (program_id, id),
    CONSTRAINT practice_logs_goalie_fk FOREIGN KEY (program_id, goalie_id) REFERENCES goalies (program_id, id),
    CONSTRAINT practice_logs_team_fk FOREIGN KEY (program_id, team_id) REFERENCES teams (program_id, id)
);
CREATE INDEX practice_logs_goalie_ix ON practice_logs (program_id, goalie_id, id);
CREATE INDEX practice_logs_team_ix ON practice_logs (program_id, team_id);

ALTER TABLE practice_logs ENABLE ROW LEVEL SECURITY;
ALTER TABLE practice_logs FORCE ROW LEVEL SECURITY;
CREATE POLICY practice_logs_of_program ON practice_logs
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON practice_logs TO cagework_service;
