-- From here on a schema says which programs it serves: those that know this version or a later one. What is only added leaves
-- the word as it is, so that the program before may go on; what a program before would trip over says its own number.
SET LOCAL lock_timeout = '5s';
COMMENT ON TABLE schema_migrations IS 'serves programs that know schema version 35';
