DROP TABLE erasures;
