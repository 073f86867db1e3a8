-- Pictures that somebody kept with a line.
-- +goose Up
CREATE TABLE photos (
    department TEXT COLLATE "C" NOT NULL,
    name       TEXT COLLATE "C" NOT NULL,
    line       BIGINT NOT NULL,
    member     TEXT COLLATE "C" NOT NULL,
    at         BIGINT NOT NULL,
    jpeg       BYTEA NOT NULL,
    PRIMARY KEY (department, name)
);
CREATE INDEX photos_of_line ON photos (department, line);
