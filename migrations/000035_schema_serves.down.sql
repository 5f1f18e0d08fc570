SET LOCAL lock_timeout = '5s';
COMMENT ON TABLE schema_migrations IS NULL;
