-- Who made a goalie, until the goalie is on a roster for the first time: so long they are that member's. Forced row security
-- would hide every row from this backfill.
SET LOCAL lock_timeout = '5s';
ALTER TABLE goalies ADD COLUMN made_by uuid;
ALTER TABLE changes NO FORCE ROW LEVEL SECURITY;
ALTER TABLE goalies NO FORCE ROW LEVEL SECURITY;
ALTER TABLE roster_spells NO FORCE ROW LEVEL SECURITY;
UPDATE goalies SET made_by = (SELECT c.member_id FROM changes c WHERE c.program_id = goalies.program_id
        AND c.record_id = goalies.id AND c.noun = 'goalie' AND c.op = 'create' ORDER BY c.rev LIMIT 1)
    WHERE NOT EXISTS (SELECT 1 FROM roster_spells s WHERE s.program_id = goalies.program_id AND s.goalie_id = goalies.id)
    AND NOT EXISTS (SELECT 1 FROM changes c WHERE c.program_id = goalies.program_id AND c.noun = 'roster_spell'
        AND c.before ->> 'goalie_id' = goalies.id::text);
ALTER TABLE roster_spells FORCE ROW LEVEL SECURITY;
ALTER TABLE goalies FORCE ROW LEVEL SECURITY;
ALTER TABLE changes FORCE ROW LEVEL SECURITY;
