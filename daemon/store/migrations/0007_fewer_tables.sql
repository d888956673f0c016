-- Tables that every change of a job wrote and that no list reads: what is open, overdue or of a lot
-- is read from the jobs and their pieces.
DROP TABLE block;
DROP TABLE build_line;
DROP TABLE fact;
