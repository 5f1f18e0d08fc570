-- The one way by which the service takes entries away: those of the program that the transaction names, from before an
-- instant and never younger than 90 days, some thousands at a time. It gives how many went.
CREATE FUNCTION remove_old_accesses(before timestamptz) RETURNS bigint
    LANGUAGE sql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
    WITH old AS (
        SELECT program_id, id FROM public.accesses
        WHERE program_id = nullif(current_setting('app.program_id', true), '')::uuid
            AND at < least(before, now() - interval '90 days')
        ORDER BY id LIMIT 5000
    ), gone AS (
        DELETE FROM public.accesses a USING old WHERE a.program_id = old.program_id AND a.id = old.id RETURNING 1
    )
    SELECT count(*) FROM gone
$$;
REVOKE ALL ON FUNCTION remove_old_accesses(timestamptz) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION remove_old_accesses(timestamptz) TO cagework_service;
