-- What the record of a change belonged to when the change was written: its teams, and the member whose it was. Both are null
-- in changes from before, and for kinds of records that belong to the whole program.
SET LOCAL lock_timeout = '5s';
ALTER TABLE changes
    ADD COLUMN of_team_ids  uuid[],
    ADD COLUMN of_member_id uuid;
