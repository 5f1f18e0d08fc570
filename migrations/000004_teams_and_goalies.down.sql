DROP TABLE roster_spells;
DROP TABLE goalies;
DROP TABLE teams;
DROP TABLE competitions;
DROP TABLE seasons;
