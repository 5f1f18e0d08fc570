-- Rules for any target and rules without a drill cannot be told without the new columns: they go. Forced row security
-- would hide every row from this.
SET LOCAL lock_timeout = '5s';
ALTER TABLE rules NO FORCE ROW LEVEL SECURITY;
DELETE FROM rules WHERE target_id IS NULL OR drill_id IS NULL;
ALTER TABLE rules FORCE ROW LEVEL SECURITY;
ALTER TABLE rules
    ALTER COLUMN target_id SET NOT NULL,
    ALTER COLUMN drill_id SET NOT NULL,
    DROP COLUMN season_part,
    DROP COLUMN advice,
    DROP COLUMN after_drill_ids,
    DROP COLUMN after_sessions,
    DROP COLUMN after_blocks,
    DROP COLUMN also_short_ids,
    DROP COLUMN not_short_ids,
    DROP COLUMN only_short,
    DROP COLUMN for_shy;
ALTER TABLE drills
    DROP COLUMN soft_levels,
    DROP COLUMN team,
    DROP COLUMN next_step;
ALTER TABLE goalies
    DROP COLUMN allowed_drill_ids,
    DROP COLUMN shies_from_ball;
ALTER TABLE teams
    DROP COLUMN live_shots_session,
    DROP COLUMN live_shots_week;
