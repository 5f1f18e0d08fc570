SET LOCAL lock_timeout = '5s';
CREATE INDEX readings_member_ix ON readings (program_id, member_id);
DROP INDEX readings_reader_ix;
DROP INDEX readings_shot_ix;
ALTER TABLE readings DROP COLUMN game_id;
