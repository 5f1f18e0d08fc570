SET LOCAL lock_timeout = '5s';

ALTER TABLE shots
    ADD COLUMN ground_view_id         uuid,
    ADD COLUMN ball_u_px              double precision,
    ADD COLUMN ball_v_px              double precision,
    ADD COLUMN goal_view_id           uuid,
    ADD COLUMN finish_u_px            double precision,
    ADD COLUMN finish_v_px            double precision,
    ADD COLUMN clicked_ball_x_m       double precision,
    ADD COLUMN clicked_ball_y_m       double precision,
    ADD COLUMN clicked_ball_error_m   double precision,
    ADD COLUMN clicked_finish_x_m     double precision,
    ADD COLUMN clicked_finish_up_m    double precision,
    ADD COLUMN clicked_finish_error_m double precision,
    ADD CONSTRAINT shots_ground_view_fk FOREIGN KEY (program_id, ground_view_id) REFERENCES views (program_id, id),
    ADD CONSTRAINT shots_goal_view_fk FOREIGN KEY (program_id, goal_view_id) REFERENCES views (program_id, id);
CREATE INDEX shots_ground_view_ix ON shots (program_id, ground_view_id);
CREATE INDEX shots_goal_view_ix ON shots (program_id, goal_view_id);
