DROP FUNCTION remove_old_accesses(timestamptz);
