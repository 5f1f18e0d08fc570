DROP TABLE habits;
