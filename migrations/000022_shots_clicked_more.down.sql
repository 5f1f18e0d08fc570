SET LOCAL lock_timeout = '5s';

ALTER TABLE shots
    DROP COLUMN pass_u_px,
    DROP COLUMN pass_v_px,
    DROP COLUMN goalie_u_px,
    DROP COLUMN goalie_v_px,
    DROP COLUMN clicked_pass_x_m,
    DROP COLUMN clicked_pass_y_m,
    DROP COLUMN clicked_pass_error_m,
    DROP COLUMN clicked_goalie_x_m,
    DROP COLUMN clicked_goalie_y_m,
    DROP COLUMN clicked_goalie_error_m;
