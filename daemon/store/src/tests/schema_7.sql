-- What makes a data file of schema 7, as version 0.1.0 wrote it, of one of schema 6: the step as
-- it was then. Never edited once released: later schemas open it.
DROP TABLE block;
DROP TABLE build_line;
DROP TABLE fact;
-- An answer with all its columns.
INSERT INTO answered VALUES('request 7',X'616e737765722037',540000000,X'28db91403a8ece7ab33c9e09ab0a39ede265bc48a3c14e24443336c260be33ac',X'885cc364703e03fb6eef850175f78347ff51a7b18acf29869c4afac499993fa8','[]');
INSERT INTO migration VALUES(7,'0.1.0');
