-- Who does what only one process may do at a time, such as a channel's messages,
-- and until when. term rises whenever another takes over.
-- +goose Up
CREATE TABLE leases (
    name  TEXT    NOT NULL PRIMARY KEY,
    owner TEXT    NOT NULL,
    until INTEGER NOT NULL,
    term  INTEGER NOT NULL
) STRICT;
