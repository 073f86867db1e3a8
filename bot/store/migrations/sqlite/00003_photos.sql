-- Pictures that somebody kept with a line.
-- +goose Up
CREATE TABLE photos (
    department TEXT    NOT NULL,
    name       TEXT    NOT NULL,
    line       INTEGER NOT NULL,
    member     TEXT    NOT NULL,
    at         INTEGER NOT NULL,
    jpeg       BLOB    NOT NULL,
    PRIMARY KEY (department, name)
) STRICT;
CREATE INDEX photos_of_line ON photos (department, line);
