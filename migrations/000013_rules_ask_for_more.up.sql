-- What a rule may ask for beside a target's state, and what the gates need: soft balls by level, drills that a
-- clinician allows, a goalie who shies from the ball, the team's own caps on live shots. The defaults serve the rows
-- that are there and go again.
SET LOCAL lock_timeout = '5s';

-- The history is read back into the records as they are now, by undo and by late repeats. Forced row security would
-- hide every row from this.
ALTER TABLE changes NO FORCE ROW LEVEL SECURITY;
UPDATE changes SET before = '{"allowed_drill_ids": [], "shies_from_ball": false}' || before
    WHERE noun = 'goalie' AND before IS NOT NULL;
UPDATE changes SET before = '{"soft_levels": [], "team": false, "next_step": ""}' || before
    WHERE noun = 'drill' AND before IS NOT NULL;
UPDATE changes SET before = '{"season_part": "any", "advice": "", "after_drill_ids": [], "after_sessions": 0,
    "after_blocks": 0, "also_short_ids": [], "not_short_ids": [], "only_short": false, "for_shy": false}' || before
    WHERE noun = 'rule' AND before IS NOT NULL;
ALTER TABLE changes FORCE ROW LEVEL SECURITY;

ALTER TABLE teams
    ADD COLUMN live_shots_session integer,
    ADD COLUMN live_shots_week integer;

ALTER TABLE goalies
    ADD COLUMN allowed_drill_ids uuid[] NOT NULL DEFAULT '{}',
    ADD COLUMN shies_from_ball boolean NOT NULL DEFAULT false;
ALTER TABLE goalies
    ALTER COLUMN allowed_drill_ids DROP DEFAULT,
    ALTER COLUMN shies_from_ball DROP DEFAULT;

ALTER TABLE drills
    ADD COLUMN soft_levels text[] NOT NULL DEFAULT '{}',
    ADD COLUMN team boolean NOT NULL DEFAULT false,
    ADD COLUMN next_step text NOT NULL DEFAULT '';
ALTER TABLE drills
    ALTER COLUMN soft_levels DROP DEFAULT,
    ALTER COLUMN team DROP DEFAULT,
    ALTER COLUMN next_step DROP DEFAULT;

ALTER TABLE rules
    ALTER COLUMN target_id DROP NOT NULL,
    ALTER COLUMN drill_id DROP NOT NULL,
    ADD COLUMN season_part text NOT NULL DEFAULT 'any',
    ADD COLUMN advice text NOT NULL DEFAULT '',
    ADD COLUMN after_drill_ids uuid[] NOT NULL DEFAULT '{}',
    ADD COLUMN after_sessions integer NOT NULL DEFAULT 0,
    ADD COLUMN after_blocks integer NOT NULL DEFAULT 0,
    ADD COLUMN also_short_ids uuid[] NOT NULL DEFAULT '{}',
    ADD COLUMN not_short_ids uuid[] NOT NULL DEFAULT '{}',
    ADD COLUMN only_short boolean NOT NULL DEFAULT false,
    ADD COLUMN for_shy boolean NOT NULL DEFAULT false,
    ADD CONSTRAINT rules_season_part_ck CHECK (season_part IN ('any', 'pre', 'in'));
ALTER TABLE rules
    ALTER COLUMN season_part DROP DEFAULT,
    ALTER COLUMN advice DROP DEFAULT,
    ALTER COLUMN after_drill_ids DROP DEFAULT,
    ALTER COLUMN after_sessions DROP DEFAULT,
    ALTER COLUMN after_blocks DROP DEFAULT,
    ALTER COLUMN also_short_ids DROP DEFAULT,
    ALTER COLUMN not_short_ids DROP DEFAULT,
    ALTER COLUMN only_short DROP DEFAULT,
    ALTER COLUMN for_shy DROP DEFAULT;
