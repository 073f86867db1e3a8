-- The last number that was given to a queue line of each department, stored
-- before anybody sees it: several processes may give numbers.
-- +goose Up
CREATE TABLE numbers (
    department TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    last       BIGINT NOT NULL
);
