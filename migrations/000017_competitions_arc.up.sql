-- The arc on which a program has its goalies stand; none is set in competitions that are there already.
SET LOCAL lock_timeout = '5s';
ALTER TABLE competitions
    ADD COLUMN arc_apex_m        double precision,
    ADD COLUMN arc_half_stance_m double precision,
    ADD COLUMN shade_near_m      double precision;
