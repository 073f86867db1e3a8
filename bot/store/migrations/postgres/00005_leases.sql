-- Who does what only one process may do at a time, such as a channel's messages,
-- and until when. term rises whenever another takes over.
-- +goose Up
CREATE TABLE leases (
    name  TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    owner TEXT COLLATE "C" NOT NULL,
    until BIGINT NOT NULL,
    term  BIGINT NOT NULL
);
