DROP TABLE tokens;
DROP TABLE members;
