-- The role stays: other databases of the server may use it.
REVOKE SELECT ON schema_migrations FROM cagework_service;
REVOKE USAGE ON SCHEMA public FROM cagework_service;
