SET LOCAL lock_timeout = '5s';

ALTER TABLE shots
    ADD COLUMN pass_x_m           double precision,
    ADD COLUMN pass_y_m           double precision,
    ADD COLUMN catch_to_release_s double precision,
    ADD COLUMN release_up_m       double precision,
    ADD COLUMN speed_ms           double precision,
    ADD COLUMN goalie_x_m         double precision,
    ADD COLUMN goalie_y_m         double precision,
    ADD COLUMN goalie_facing_deg  double precision,
    ADD COLUMN ball_uncertain_m   double precision,
    ADD COLUMN goalie_uncertain_m double precision;
