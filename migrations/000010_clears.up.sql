-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

CREATE TABLE clears (
    program_id     uuid   NOT NULL,
    id             uuid   NOT NULL,
    rev            bigint NOT NULL,
    game_id        uuid   NOT NULL,
    shot_id        uuid,
    goalie_id      uuid,
    result         text   NOT NULL,
    period         integer,
    clock_s        integer,
    film_ms        integer,
    elapsed_s      integer,
    cage_goalie_id uuid,
    cage_stint_id  uuid,
    cage_how       text   NOT NULL,
    CONSTRAINT clears_pk PRIMARY KEY (program_id, id),
    CONSTRAINT clears_game_fk FOREIGN KEY (program_id, game_id) REFERENCES games (program_id, id),
    CONSTRAINT clears_shot_fk FOREIGN KEY (program_id, shot_id) REFERENCES shots (program_id, id),
    CONSTRAINT clears_goalie_fk FOREIGN KEY (program_id, goalie_id) REFERENCES goalies (program_id, id),
    CONSTRAINT clears_cage_goalie_fk FOREIGN KEY (program_id, cage_goalie_id)
        REFERENCES goalies (program_id, id),
    CONSTRAINT clears_cage_stint_fk FOREIGN KEY (program_id, cage_stint_id) REFERENCES stints (program_id, id),
    CONSTRAINT clears_result_ck CHECK (result IN ('cleared', 'failed', 'none')),
    CONSTRAINT clears_time_ck CHECK (period IS NOT NULL OR film_ms IS NOT NULL OR shot_id IS NOT NULL),
    CONSTRAINT clears_cage_how_ck CHECK
        (cage_how IN ('given', 'only_goalie', 'stint_clock', 'stint_film', 'empty_cage', 'unresolved'))
);
CREATE INDEX clears_game_ix ON clears (program_id, game_id, id);
CREATE INDEX clears_shot_ix ON clears (program_id, shot_id);
CREATE INDEX clears_goalie_ix ON clears (program_id, goalie_id);
CREATE INDEX clears_cage_goalie_ix ON clears (program_id, cage_goalie_id, id);
CREATE INDEX clears_cage_stint_ix ON clears (program_id, cage_stint_id);

ALTER TABLE clears ENABLE ROW LEVEL SECURITY;
ALTER TABLE clears FORCE ROW LEVEL SECURITY;
CREATE POLICY clears_of_program ON clears
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON clears TO cagework_service;
