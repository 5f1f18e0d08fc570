-- The service's own role. It owns nothing and cannot log in: each transaction steps down to it, so that row
-- security holds whatever the login is. A role belongs to the whole server, so another database may have made it.
DO $$
BEGIN
    CREATE ROLE cagework_service NOLOGIN NOSUPERUSER NOCREATEDB NOCREATEROLE NOBYPASSRLS;
EXCEPTION
    WHEN duplicate_object OR unique_violation THEN NULL;
END
$$;

GRANT USAGE ON SCHEMA public TO cagework_service;

-- The service tells whether the schema is the one it needs. The migrator makes this table before the first file.
GRANT SELECT ON schema_migrations TO cagework_service;
