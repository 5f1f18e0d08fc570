DROP TABLE clears;
