SET LOCAL lock_timeout = '5s';

ALTER TABLE shots
    DROP COLUMN pass_x_m,
    DROP COLUMN pass_y_m,
    DROP COLUMN catch_to_release_s,
    DROP COLUMN release_up_m,
    DROP COLUMN speed_ms,
    DROP COLUMN goalie_x_m,
    DROP COLUMN goalie_y_m,
    DROP COLUMN goalie_facing_deg,
    DROP COLUMN ball_uncertain_m,
    DROP COLUMN goalie_uncertain_m;
