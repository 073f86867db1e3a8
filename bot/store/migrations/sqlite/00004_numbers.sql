-- The last number that was given to a queue line of each department, stored
-- before anybody sees it: several processes may give numbers.
-- +goose Up
CREATE TABLE numbers (
    department TEXT    NOT NULL PRIMARY KEY,
    last       INTEGER NOT NULL
) STRICT;
