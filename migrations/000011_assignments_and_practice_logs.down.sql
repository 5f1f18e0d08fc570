DROP TABLE practice_logs;
DROP TABLE assignments;
