SET LOCAL lock_timeout = '5s';
ALTER TABLE competitions
    DROP COLUMN arc_apex_m,
    DROP COLUMN arc_half_stance_m,
    DROP COLUMN shade_near_m;
