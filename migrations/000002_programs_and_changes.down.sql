DROP TABLE changes;
DROP TABLE programs;
