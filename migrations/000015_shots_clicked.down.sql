SET LOCAL lock_timeout = '5s';

ALTER TABLE shots
    DROP COLUMN ground_view_id,
    DROP COLUMN ball_u_px,
    DROP COLUMN ball_v_px,
    DROP COLUMN goal_view_id,
    DROP COLUMN finish_u_px,
    DROP COLUMN finish_v_px,
    DROP COLUMN clicked_ball_x_m,
    DROP COLUMN clicked_ball_y_m,
    DROP COLUMN clicked_ball_error_m,
    DROP COLUMN clicked_finish_x_m,
    DROP COLUMN clicked_finish_up_m,
    DROP COLUMN clicked_finish_error_m;
