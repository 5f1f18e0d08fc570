SET LOCAL lock_timeout = '5s';

ALTER TABLE shots
    ADD COLUMN pass_u_px              double precision,
    ADD COLUMN pass_v_px              double precision,
    ADD COLUMN goalie_u_px            double precision,
    ADD COLUMN goalie_v_px            double precision,
    ADD COLUMN clicked_pass_x_m       double precision,
    ADD COLUMN clicked_pass_y_m       double precision,
    ADD COLUMN clicked_pass_error_m   double precision,
    ADD COLUMN clicked_goalie_x_m     double precision,
    ADD COLUMN clicked_goalie_y_m     double precision,
    ADD COLUMN clicked_goalie_error_m double precision;
