DROP FUNCTION erase_from_changes(uuid, text, uuid, boolean);
DROP FUNCTION names_borne(uuid, text, uuid);
DROP FUNCTION without_names_in(jsonb, text[], text[], boolean);
DROP FUNCTION without_names(text, text[]);
