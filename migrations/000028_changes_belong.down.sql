SET LOCAL lock_timeout = '5s';
ALTER TABLE changes
    DROP COLUMN of_team_ids,
    DROP COLUMN of_member_id;
