CREATE TABLE games (
    program_id     uuid   NOT NULL,
    id             uuid   NOT NULL,
    rev            bigint NOT NULL,
    team_id        uuid   NOT NULL,
    competition_id uuid   NOT NULL,
    opponent       text,
    played_on      date   NOT NULL,
    kind           text   NOT NULL,
    ended_period   integer,
    ended_clock_s  integer,
    CONSTRAINT games_pk PRIMARY KEY (program_id, id),
    CONSTRAINT games_team_fk FOREIGN KEY (program_id, team_id) REFERENCES teams (program_id, id),
    CONSTRAINT games_competition_fk FOREIGN KEY (program_id, competition_id)
        REFERENCES competitions (program_id, id),
    CONSTRAINT games_kind_ck CHECK (kind IN ('game', 'scrimmage', 'practice')),
    CONSTRAINT games_ended_ck CHECK ((ended_period IS NULL) = (ended_clock_s IS NULL))
);
CREATE INDEX games_team_ix ON games (program_id, team_id, id);
CREATE INDEX games_competition_ix ON games (program_id, competition_id);
CREATE INDEX games_played_on_ix ON games (program_id, played_on);

ALTER TABLE games ENABLE ROW LEVEL SECURITY;
ALTER TABLE games FORCE ROW LEVEL SECURITY;
CREATE POLICY games_of_program ON games
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON games TO cagework_service;

CREATE TABLE stints (
    program_id      uuid    NOT NULL,
    id              uuid    NOT NULL,
    rev             bigint  NOT NULL,
    game_id         uuid    NOT NULL,
    goalie_id       uuid,             -- absent: an empty cage
    start_period    integer NOT NULL,
    start_clock_s   integer NOT NULL,
    end_period      integer NOT NULL,
    end_clock_s     integer NOT NULL,
    start_film_ms   integer,
    end_film_ms     integer,
    start_elapsed_s integer NOT NULL,
    end_elapsed_s   integer NOT NULL,
    CONSTRAINT stints_pk PRIMARY KEY (program_id, id),
    CONSTRAINT stints_game_fk FOREIGN KEY (program_id, game_id) REFERENCES games (program_id, id),
    CONSTRAINT stints_goalie_fk FOREIGN KEY (program_id, goalie_id) REFERENCES goalies (program_id, id),
    CONSTRAINT stints_span_ck CHECK (end_elapsed_s >= start_elapsed_s)
);
CREATE INDEX stints_game_ix ON stints (program_id, game_id, id);
CREATE INDEX stints_goalie_ix ON stints (program_id, goalie_id);

ALTER TABLE stints ENABLE ROW LEVEL SECURITY;
ALTER TABLE stints FORCE ROW LEVEL SECURITY;
CREATE POLICY stints_of_program ON stints
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON stints TO cagework_service;

CREATE TABLE shots (
    program_id      uuid    NOT NULL,
    id              uuid    NOT NULL,
    rev             bigint  NOT NULL,
    game_id         uuid    NOT NULL,
    goalie_id       uuid,
    outcome         text    NOT NULL,
    deflected       boolean NOT NULL,
    goalie_out      boolean NOT NULL,
    waved_off       boolean NOT NULL,
    period          integer,
    clock_s         integer,
    film_ms         integer,
    phase           text,
    strength        text,
    arrival         text,
    release_style   text,
    release_level   text,
    shooter_feet    text,
    ball_x_m        double precision,
    ball_y_m        double precision,
    finish_band     text,
    finish_side     text,
    finish_x_m      double precision,
    finish_up_m     double precision,
    bounce          boolean,
    save_by         text,
    rebound         text,
    outlet          text,
    elapsed_s       integer,
    faced_goalie_id uuid,
    faced_stint_id  uuid,
    faced_how       text    NOT NULL,
    CONSTRAINT shots_pk PRIMARY KEY (program_id, id),
    CONSTRAINT shots_game_fk FOREIGN KEY (program_id, game_id) REFERENCES games (program_id, id),
    CONSTRAINT shots_goalie_fk FOREIGN KEY (program_id, goalie_id) REFERENCES goalies (program_id, id),
    CONSTRAINT shots_faced_goalie_fk FOREIGN KEY (program_id, faced_goalie_id)
        REFERENCES goalies (program_id, id),
    CONSTRAINT shots_faced_stint_fk FOREIGN KEY (program_id, faced_stint_id) REFERENCES stints (program_id, id),
    CONSTRAINT shots_outcome_ck CHECK (outcome IN ('goal', 'save', 'pipe', 'wide', 'blocked', 'own_goal')),
    CONSTRAINT shots_time_ck CHECK (period IS NOT NULL OR film_ms IS NOT NULL),
    CONSTRAINT shots_faced_how_ck CHECK
        (faced_how IN ('given', 'only_goalie', 'stint_clock', 'stint_film', 'empty_cage', 'unresolved'))
);
CREATE INDEX shots_game_ix ON shots (program_id, game_id, id);
CREATE INDEX shots_goalie_ix ON shots (program_id, goalie_id);
CREATE INDEX shots_faced_goalie_ix ON shots (program_id, faced_goalie_id, id);
CREATE INDEX shots_faced_stint_ix ON shots (program_id, faced_stint_id);

ALTER TABLE shots ENABLE ROW LEVEL SECURITY;
ALTER TABLE shots FORCE ROW LEVEL SECURITY;
CREATE POLICY shots_of_program ON shots
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON shots TO cagework_service;

CREATE TABLE readings (
    program_id uuid   NOT NULL,
    id         uuid   NOT NULL,
    rev        bigint NOT NULL,
    shot_id    uuid   NOT NULL,
    how_read   text   NOT NULL,
    habits     jsonb  NOT NULL,
    member_id  uuid   NOT NULL,
    CONSTRAINT readings_pk PRIMARY KEY (program_id, id),
    CONSTRAINT readings_one_a_member_uq UNIQUE (program_id, shot_id, member_id),
    CONSTRAINT readings_shot_fk FOREIGN KEY (program_id, shot_id) REFERENCES shots (program_id, id),
    CONSTRAINT readings_member_fk FOREIGN KEY (program_id, member_id) REFERENCES members (program_id, id),
    CONSTRAINT readings_how_read_ck CHECK (how_read IN ('live', 'film', 'film_blind'))
);
CREATE INDEX readings_member_ix ON readings (program_id, member_id);

ALTER TABLE readings ENABLE ROW LEVEL SECURITY;
ALTER TABLE readings FORCE ROW LEVEL SECURITY;
CREATE POLICY readings_of_program ON readings
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON readings TO cagework_service;
