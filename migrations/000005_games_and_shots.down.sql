DROP TABLE readings;
DROP TABLE shots;
DROP TABLE stints;
DROP TABLE games;
