-- A foreign key locks the table that it points to.
SET LOCAL lock_timeout = '5s';

CREATE TABLE views (
    program_id     uuid             NOT NULL,
    id             uuid             NOT NULL,
    rev            bigint           NOT NULL,
    game_id        uuid             NOT NULL,
    name           text             NOT NULL,
    plane          text             NOT NULL,
    from_film_ms   integer,
    to_film_ms     integer,
    width_px       integer          NOT NULL,
    height_px      integer          NOT NULL,
    pixel_error_px double precision NOT NULL,
    marks          jsonb            NOT NULL,
    CONSTRAINT views_pk PRIMARY KEY (program_id, id),
    CONSTRAINT views_game_fk FOREIGN KEY (program_id, game_id) REFERENCES games (program_id, id),
    CONSTRAINT views_plane_ck CHECK (plane IN ('ground', 'goal')),
    CONSTRAINT views_span_ck CHECK (from_film_ms <= to_film_ms)
);
CREATE INDEX views_game_ix ON views (program_id, game_id, id);

ALTER TABLE views ENABLE ROW LEVEL SECURITY;
ALTER TABLE views FORCE ROW LEVEL SECURITY;
CREATE POLICY views_of_program ON views
    USING (program_id = nullif(current_setting('app.program_id', true), '')::uuid);
GRANT SELECT, INSERT, UPDATE, DELETE ON views TO cagework_service;
