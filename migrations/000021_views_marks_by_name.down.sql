SET LOCAL lock_timeout = '5s';
ALTER TABLE views DROP COLUMN places;
