DROP TABLE record_ids;
