-- A reading's game, so that a game's readings are listed by an index. A shot never changes its game. Forced row
-- security would hide every row from this backfill.
SET LOCAL lock_timeout = '5s';
ALTER TABLE readings ADD COLUMN game_id uuid;
ALTER TABLE readings NO FORCE ROW LEVEL SECURITY;
ALTER TABLE shots NO FORCE ROW LEVEL SECURITY;
UPDATE readings SET game_id = s.game_id FROM shots s
    WHERE s.program_id = readings.program_id AND s.id = readings.shot_id;
ALTER TABLE shots FORCE ROW LEVEL SECURITY;
ALTER TABLE readings FORCE ROW LEVEL SECURITY;
ALTER TABLE readings
    ALTER COLUMN game_id SET NOT NULL,
    ADD CONSTRAINT readings_game_fk FOREIGN KEY (program_id, game_id) REFERENCES games (program_id, id);
CREATE INDEX readings_game_ix ON readings (program_id, game_id, id);
CREATE INDEX readings_shot_ix ON readings (program_id, shot_id, id);
CREATE INDEX readings_reader_ix ON readings (program_id, member_id, id);
DROP INDEX readings_member_ix;
