DROP TABLE sessions;
