CREATE TABLE seasons (
    program_id uuid   NOT NULL,
    id         uuid   NOT NULL,
    rev        bigint NOT NULL,
    name       text   NOT NULL,
    starts_on  date   NOT NULL,
    ends_on    date   NOT NULL,
    CONSTRAINT seasons_pk PRIMARY KEY (program_id, id),
    CONSTRAINT seasons_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT seasons_span_ck CHECK (ends_on >= starts_on)
);

ALTER TABLE seasons ENABLE ROW LEVEL SECURITY;
ALTER TABLE seasons FORCE ROW LEVEL SECURITY;
CREATE POLICY seasons_of_program ON seasons
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON seasons TO cagework_service;

CREATE TABLE competitions (
    program_id      uuid             NOT NULL,
    id              uuid             NOT NULL,
    rev             bigint           NOT NULL,
    name            text             NOT NULL,
    code_of_play    text             NOT NULL,
    level           text             NOT NULL,
    rule_book       text,
    goal_width_m    double precision NOT NULL,
    goal_height_m   double precision NOT NULL,
    crease_radius_m double precision NOT NULL,
    periods         integer          NOT NULL,
    period_s        integer          NOT NULL,
    overtime_s      integer          NOT NULL,
    average_minutes integer          NOT NULL,
    clear_line      text             NOT NULL,
    own_goal_rule   text             NOT NULL,
    CONSTRAINT competitions_pk PRIMARY KEY (program_id, id),
    CONSTRAINT competitions_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT competitions_code_of_play_ck
        CHECK (code_of_play IN ('mens_field', 'womens_field', 'box', 'sixes')),
    CONSTRAINT competitions_level_ck CHECK (level IN ('10u', '12u', '14u', 'high_school', 'college')),
    CONSTRAINT competitions_clear_line_ck CHECK (clear_line IN ('centre', 'attack_area', 'restraining_line')),
    CONSTRAINT competitions_own_goal_rule_ck CHECK (own_goal_rule IN ('any_defender', 'defender_in_possession'))
);

ALTER TABLE competitions ENABLE ROW LEVEL SECURITY;
ALTER TABLE competitions FORCE ROW LEVEL SECURITY;
CREATE POLICY competitions_of_program ON competitions
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON competitions TO cagework_service;

CREATE TABLE teams (
    program_id       uuid    NOT NULL,
    id               uuid    NOT NULL,
    rev              bigint  NOT NULL,
    name             text    NOT NULL,
    competition_id   uuid    NOT NULL,
    practice_minutes integer NOT NULL,
    CONSTRAINT teams_pk PRIMARY KEY (program_id, id),
    CONSTRAINT teams_competition_fk FOREIGN KEY (program_id, competition_id)
        REFERENCES competitions (program_id, id)
);
CREATE INDEX teams_competition_ix ON teams (program_id, competition_id);

ALTER TABLE teams ENABLE ROW LEVEL SECURITY;
ALTER TABLE teams FORCE ROW LEVEL SECURITY;
CREATE POLICY teams_of_program ON teams
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON teams TO cagework_service;

CREATE TABLE goalies (
    program_id       uuid   NOT NULL,
    id               uuid   NOT NULL,
    rev              bigint NOT NULL,
    name             text   NOT NULL,
    stick_hand       text   NOT NULL,
    age_band         text,
    availability     text   NOT NULL,
    practice_minutes integer,
    CONSTRAINT goalies_pk PRIMARY KEY (program_id, id),
    CONSTRAINT goalies_program_fk FOREIGN KEY (program_id) REFERENCES programs (id),
    CONSTRAINT goalies_stick_hand_ck CHECK (stick_hand IN ('right', 'left')),
    CONSTRAINT goalies_age_band_ck CHECK (age_band IN ('10u', '12u', '14u', 'high_school', 'college')),
    CONSTRAINT goalies_availability_ck CHECK (availability IN ('full', 'limited', 'held'))
);

ALTER TABLE goalies ENABLE ROW LEVEL SECURITY;
ALTER TABLE goalies FORCE ROW LEVEL SECURITY;
CREATE POLICY goalies_of_program ON goalies
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON goalies TO cagework_service;

CREATE TABLE roster_spells (
    program_id uuid   NOT NULL,
    id         uuid   NOT NULL,
    rev        bigint NOT NULL,
    team_id    uuid   NOT NULL,
    goalie_id  uuid   NOT NULL,
    from_on    date   NOT NULL,
    to_on      date,
    CONSTRAINT roster_spells_pk PRIMARY KEY (program_id, id),
    CONSTRAINT roster_spells_team_fk FOREIGN KEY (program_id, team_id) REFERENCES teams (program_id, id),
    CONSTRAINT roster_spells_goalie_fk FOREIGN KEY (program_id, goalie_id) REFERENCES goalies (program_id, id),
    CONSTRAINT roster_spells_span_ck CHECK (to_on >= from_on)
);
CREATE INDEX roster_spells_team_ix ON roster_spells (program_id, team_id, goalie_id);
CREATE INDEX roster_spells_goalie_ix ON roster_spells (program_id, goalie_id, team_id);

ALTER TABLE roster_spells ENABLE ROW LEVEL SECURITY;
ALTER TABLE roster_spells FORCE ROW LEVEL SECURITY;
CREATE POLICY roster_spells_of_program ON roster_spells
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON roster_spells TO cagework_service;
