DROP TABLE rules;
DROP TABLE drills;
DROP TABLE targets;
