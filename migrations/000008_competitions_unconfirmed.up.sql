-- Which measures nobody has checked yet; nothing is claimed of competitions that are there already.
SET LOCAL lock_timeout = '5s';
ALTER TABLE competitions ADD COLUMN unconfirmed text[] NOT NULL DEFAULT '{}';
ALTER TABLE competitions ALTER COLUMN unconfirmed DROP DEFAULT;
