DROP TABLE accesses;
