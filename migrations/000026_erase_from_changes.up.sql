-- The history is append-only for the service: it may not change or remove a row of it. This is the one exception, and what it
-- does is fixed here: it takes one person's name and words out of what records were before, and nothing else.

-- Gives a text without some names. A name is found as whole words; one of several words whatever its capitals, one of a single
-- word only as it is written, for it may be a word of the language too.
CREATE FUNCTION without_names(said text, names text[]) RETURNS text
    LANGUAGE plpgsql IMMUTABLE SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    borne text;
BEGIN
    FOREACH borne IN ARRAY names LOOP
        CONTINUE WHEN said IS NULL OR strpos(lower(said), lower(borne)) = 0; -- most texts hold none
        said := regexp_replace(said,
            '(?<![[:alnum:]])' || regexp_replace(borne, '([^[:alnum:][:space:]])', '\\\1', 'g') || '(?![[:alnum:]])',
            '[erased]', CASE WHEN borne ~ '[[:space:]]' THEN 'gi' ELSE 'g' END);
    END LOOP;
    RETURN said;
END
$$;

-- Gives a document without some names; they are looked for in the texts of certain members only, at any depth.
CREATE FUNCTION without_names_in(said jsonb, members text[], names text[], inside boolean) RETURNS jsonb
    LANGUAGE plpgsql IMMUTABLE SET search_path = pg_catalog, pg_temp AS $$
BEGIN
    RETURN CASE jsonb_typeof(said)
        WHEN 'string' THEN CASE WHEN inside THEN to_jsonb(public.without_names(said #>> '{}', names)) ELSE said END
        WHEN 'array' THEN (SELECT coalesce(jsonb_agg(public.without_names_in(item, members, names, inside) ORDER BY place), '[]')
            FROM jsonb_array_elements(said) WITH ORDINALITY AS items (item, place))
        WHEN 'object' THEN (SELECT coalesce(jsonb_object_agg(key, public.without_names_in(value, members, names, key = ANY (members))), '{}')
            FROM jsonb_each(said))
        ELSE said END;
END
$$;

-- Gives the names that somebody has or had, the longest first. Two letters are no name to look for.
CREATE FUNCTION names_borne(of_program uuid, kind text, person uuid) RETURNS text[]
    LANGUAGE sql STABLE SET search_path = pg_catalog, pg_temp AS $$
    SELECT coalesce(array_agg(borne ORDER BY length(borne) DESC, borne), '{}') FROM (
        SELECT name AS borne FROM public.goalies WHERE kind = 'goalie' AND program_id = of_program AND id = person
        UNION SELECT name FROM public.members WHERE kind = 'member' AND program_id = of_program AND id = person
        UNION SELECT before->>'name' FROM public.changes
            WHERE program_id = of_program AND record_id = person AND noun = kind
    ) said WHERE length(borne) >= 3 AND borne NOT IN ('Erased goalie', 'Erased member')
$$;

-- Takes a person out of the history, and gives how many changes of which records it rewrote; dry only counts them. It works in
-- the program that the transaction names and in no other, and, unless it is dry, for whom an erasure is written down.
CREATE FUNCTION erase_from_changes(of_program uuid, kind text, person uuid, dry boolean)
    RETURNS TABLE (of_noun text, of_record uuid, rewritten bigint)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog, pg_temp AS $$
DECLARE
    prose CONSTANT text[] := ARRAY['name', 'rule_book', 'opponent', 'definition', 'edge_cases', 'cue', 'source', 'purpose',
        'set_up', 'kit', 'cautions', 'next_step', 'advice', 'reason', 'label'];
    nameless CONSTANT jsonb := CASE kind
        WHEN 'goalie' THEN jsonb_build_object('name', 'Erased goalie', 'age_band', NULL, 'availability', 'held',
            'practice_minutes', NULL, 'allowed_drill_ids', '[]'::jsonb, 'shies_from_ball', false)
        ELSE '{"name": "Erased member", "team_ids": [], "goalie_ids": []}'::jsonb END;
    names text[];
    traces text[]; -- the names as they stand in a document, to pass by quickly what holds none
    blocks uuid[];
    viewers uuid[];
BEGIN
    IF of_program IS DISTINCT FROM nullif(current_setting('app.program_id', true), '')::uuid THEN
        RAISE EXCEPTION 'the transaction is of another program' USING ERRCODE = 'insufficient_privilege';
    ELSIF kind IS NULL OR kind NOT IN ('goalie', 'member') OR dry IS NULL THEN
        RAISE EXCEPTION 'a goalie or a member is erased' USING ERRCODE = 'invalid_parameter_value';
    ELSIF NOT dry AND NOT EXISTS (SELECT FROM public.erasures e WHERE e.program_id = of_program AND e.id = person AND e.noun = kind) THEN
        RAISE EXCEPTION 'no erasure of this record is written down' USING ERRCODE = 'insufficient_privilege';
    END IF;
    names := public.names_borne(of_program, kind, person);
    traces := ARRAY(SELECT lower(trim(BOTH '"' FROM to_json(name)::text)) FROM unnest(names) AS name);
    blocks := ARRAY(SELECT a.id FROM public.assignments a WHERE a.program_id = of_program AND a.goalie_id = person
        UNION SELECT c.record_id FROM public.changes c
        WHERE c.program_id = of_program AND c.noun = 'assignment' AND c.before->>'goalie_id' = person::text);
    viewers := ARRAY(SELECT m.id FROM public.members m WHERE m.program_id = of_program AND person = ANY (m.goalie_ids)
        UNION SELECT c.record_id FROM public.changes c
        WHERE c.program_id = of_program AND c.noun = 'member' AND c.before->'goalie_ids' ? person::text);
    RETURN QUERY
    WITH read AS (
        SELECT c.rev, c.noun, c.record_id, c.before, c.before_found,
            CASE
                WHEN c.noun = kind AND c.record_id = person THEN c.before || nameless
                WHEN c.noun = 'member' AND c.record_id = ANY (viewers) THEN c.before || jsonb_build_object(
                    'goalie_ids', (c.before->'goalie_ids') - person::text,
                    'name', CASE c.before->>'role' WHEN 'viewer' THEN public.without_names(c.before->>'name', names) ELSE c.before->>'name' END)
                WHEN c.noun IN ('goalie', 'member') THEN c.before -- other people's names are theirs
                WHEN c.noun = 'assignment' AND kind = 'goalie' AND c.record_id = ANY (blocks) AND c.before->>'reason' IS NOT NULL
                    THEN c.before || '{"reason": "[erased]"}'
                WHEN c.noun = 'token' AND kind = 'member' AND c.before->>'member_id' = person::text
                    THEN c.before || '{"label": "[erased]"}'
                WHEN s.names_it THEN public.without_names_in(c.before, prose, names, false)
                ELSE c.before END AS now,
            CASE WHEN s.names_it THEN public.without_names_in(c.before_found, prose, names, false) ELSE c.before_found END AS now_found
        FROM public.changes c CROSS JOIN LATERAL (SELECT EXISTS (SELECT FROM unnest(traces) AS trace
            WHERE strpos(lower(concat(c.before::text, c.before_found::text)), trace) > 0)) AS s (names_it)
        WHERE c.program_id = of_program AND c.before IS NOT NULL
            AND c.noun NOT IN ('shot', 'reading', 'clear', 'stint', 'roster_spell', 'practice_log', 'fit') -- no words there
    ), wrong AS (
        SELECT * FROM read WHERE (now, now_found) IS DISTINCT FROM (before, before_found)
    ), mended AS (
        UPDATE public.changes c SET before = w.now, before_found = w.now_found FROM wrong w
        WHERE NOT dry AND c.program_id = of_program AND c.rev = w.rev
    )
    SELECT w.noun, w.record_id, count(*) FROM wrong w GROUP BY w.noun, w.record_id;
END
$$;

REVOKE ALL ON FUNCTION without_names(text, text[]) FROM PUBLIC;
REVOKE ALL ON FUNCTION without_names_in(jsonb, text[], text[], boolean) FROM PUBLIC;
REVOKE ALL ON FUNCTION names_borne(uuid, text, uuid) FROM PUBLIC;
REVOKE ALL ON FUNCTION erase_from_changes(uuid, text, uuid, boolean) FROM PUBLIC;
GRANT EXECUTE ON FUNCTION without_names(text, text[]) TO cagework_service;
GRANT EXECUTE ON FUNCTION without_names_in(jsonb, text[], text[], boolean) TO cagework_service;
GRANT EXECUTE ON FUNCTION names_borne(uuid, text, uuid) TO cagework_service;
GRANT EXECUTE ON FUNCTION erase_from_changes(uuid, text, uuid, boolean) TO cagework_service;
