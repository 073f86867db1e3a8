-- The first tables. Moments are nanoseconds since 1970 in UTC, 0 where none.
-- +goose Up

-- What came in. words is what the person wrote or pressed, emptied once it is
-- handled; the row stays, so that the platform's second delivery is known.
CREATE TABLE inbox (
    id          INTEGER PRIMARY KEY,
    department  TEXT    NOT NULL,
    platform    TEXT    NOT NULL,
    event       TEXT    NOT NULL,
    kind        TEXT    NOT NULL,
    at          INTEGER NOT NULL,
    speaker     TEXT    NOT NULL,
    address     TEXT    NOT NULL,
    words       TEXT    NOT NULL,
    state       TEXT    NOT NULL DEFAULT 'new' CHECK (state IN ('new', 'handled', 'failed')),
    reference   TEXT    NOT NULL DEFAULT '',
    received_at INTEGER NOT NULL,
    done_at     INTEGER NOT NULL DEFAULT 0,
    UNIQUE (department, event, platform)
) STRICT;
CREATE INDEX inbox_new ON inbox (id) WHERE state = 'new';

-- What goes out: one row a platform message. open is whether the message still
-- stands in its lane before the later ones.
CREATE TABLE outbox (
    id         INTEGER PRIMARY KEY,
    department TEXT    NOT NULL,
    key        TEXT    NOT NULL,
    lane       TEXT    NOT NULL,
    message    TEXT    NOT NULL,
    state      TEXT    NOT NULL DEFAULT 'waiting'
               CHECK (state IN ('waiting', 'sending', 'sent', 'possibly-sent', 'failed')),
    is_open    INTEGER NOT NULL GENERATED ALWAYS AS (CASE WHEN state IN ('waiting', 'sending') THEN 1 ELSE 0 END) STORED,
    tries      INTEGER NOT NULL DEFAULT 0,
    not_before INTEGER NOT NULL DEFAULT 0,
    ref        TEXT    NOT NULL DEFAULT '',
    last_error TEXT    NOT NULL DEFAULT '',
    created_at INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    UNIQUE (department, key)
) STRICT;
CREATE INDEX outbox_lanes ON outbox (lane, id) WHERE is_open = 1;
CREATE INDEX outbox_sending ON outbox (id) WHERE state = 'sending';

-- What a conversation remembers between two messages.
CREATE TABLE talks (
    department TEXT    NOT NULL,
    key        TEXT    NOT NULL,
    state      TEXT    NOT NULL,
    expires_at INTEGER NOT NULL,
    PRIMARY KEY (department, key)
) STRICT;
CREATE INDEX talks_expired ON talks (department, expires_at);

-- The shortage queue as it is now. matter groups the conditions that are one
-- piece of work: an item of a kit has at most one open line a matter.
CREATE TABLE lines (
    department TEXT    NOT NULL,
    number     INTEGER NOT NULL,
    version    INTEGER NOT NULL,
    kit        TEXT    NOT NULL,
    unit       TEXT    NOT NULL,
    item       TEXT    NOT NULL,
    condition  TEXT    NOT NULL,
    count      INTEGER NOT NULL,
    state      TEXT    NOT NULL,
    member     TEXT    NOT NULL,
    platoon    TEXT    NOT NULL,
    note       TEXT    NOT NULL,
    reports    INTEGER NOT NULL,
    opened_at  INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    matter     TEXT    NOT NULL GENERATED ALWAYS AS (CASE WHEN condition IN ('extra', 'wrong') THEN condition WHEN condition IN ('damaged', 'worn', 'dirty') THEN 'unfit' ELSE 'short' END) STORED,
    is_open    INTEGER NOT NULL GENERATED ALWAYS AS (CASE WHEN state IN ('back in the kit', 'not a fault') THEN 0 ELSE 1 END) STORED,
    PRIMARY KEY (department, number)
) STRICT;
CREATE UNIQUE INDEX lines_one_open ON lines (department, kit, item, matter) WHERE is_open = 1;
CREATE INDEX lines_open ON lines (department, number) WHERE is_open = 1;
CREATE INDEX lines_closed ON lines (department, changed_at) WHERE is_open = 0;

-- Every version of every line, whole, with the event that made it.
CREATE TABLE line_steps (
    department TEXT    NOT NULL,
    number     INTEGER NOT NULL,
    version    INTEGER NOT NULL,
    kit        TEXT    NOT NULL,
    unit       TEXT    NOT NULL,
    item       TEXT    NOT NULL,
    condition  TEXT    NOT NULL,
    count      INTEGER NOT NULL,
    state      TEXT    NOT NULL,
    member     TEXT    NOT NULL,
    platoon    TEXT    NOT NULL,
    note       TEXT    NOT NULL,
    reports    INTEGER NOT NULL,
    opened_at  INTEGER NOT NULL,
    changed_at INTEGER NOT NULL,
    verb       TEXT    NOT NULL,
    actor      TEXT    NOT NULL,
    at         INTEGER NOT NULL,
    event      TEXT    NOT NULL,
    PRIMARY KEY (department, number, version),
    FOREIGN KEY (department, number) REFERENCES lines (department, number)
) STRICT;
CREATE INDEX line_steps_event ON line_steps (department, event);
CREATE INDEX line_steps_actor ON line_steps (department, actor, at);

CREATE TABLE journal (
    id           INTEGER PRIMARY KEY,
    department   TEXT    NOT NULL,
    kind         TEXT    NOT NULL,
    subject      TEXT    NOT NULL,
    person       TEXT    NOT NULL,
    at           INTEGER NOT NULL,
    event        TEXT    NOT NULL,
    body         TEXT    NOT NULL,
    withdrawn_at INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX journal_kind ON journal (department, kind, at) WHERE withdrawn_at = 0;
CREATE INDEX journal_subject ON journal (department, kind, subject, at) WHERE withdrawn_at = 0;
CREATE INDEX journal_event ON journal (department, event);
CREATE INDEX journal_person ON journal (department, person, at) WHERE withdrawn_at = 0;

-- What has fallen due and waits for a bundle to carry it.
CREATE TABLE due (
    id         INTEGER PRIMARY KEY,
    department TEXT    NOT NULL,
    entry      TEXT    NOT NULL,
    unit       TEXT    NOT NULL,
    wall       TEXT    NOT NULL,
    kind       TEXT    NOT NULL,
    topic      TEXT    NOT NULL,
    at         INTEGER NOT NULL,
    late       INTEGER NOT NULL,
    missed     INTEGER NOT NULL,
    bundle     TEXT    NOT NULL DEFAULT '',
    carried_at INTEGER NOT NULL DEFAULT 0,
    UNIQUE (department, entry, unit, wall)
) STRICT;
CREATE INDEX due_waiting ON due (department, at) WHERE bundle = '';

-- How far each entry of the department file has come.
CREATE TABLE cursors (
    department TEXT    NOT NULL,
    entry      TEXT    NOT NULL,
    spec       TEXT    NOT NULL,
    zone       TEXT    NOT NULL,
    next_at    INTEGER NOT NULL,
    PRIMARY KEY (department, entry)
) STRICT;

-- The audit: ids and a salted digest, each row's hash over the one before it.
-- The text stands beside it in a table of its own, where it can be blanked.
CREATE TABLE audit (
    department TEXT    NOT NULL,
    seq        INTEGER NOT NULL,
    at         INTEGER NOT NULL,
    actor      TEXT    NOT NULL,
    event      TEXT    NOT NULL,
    verb       TEXT    NOT NULL,
    subject    TEXT    NOT NULL,
    digest     BLOB    NOT NULL,
    prev       BLOB    NOT NULL,
    hash       BLOB    NOT NULL,
    PRIMARY KEY (department, seq)
) STRICT;
CREATE TABLE audit_text (
    department TEXT    NOT NULL,
    seq        INTEGER NOT NULL,
    salt       BLOB    NOT NULL,
    old_text   TEXT    NOT NULL,
    new_text   TEXT    NOT NULL,
    blanked_at INTEGER NOT NULL DEFAULT 0,
    PRIMARY KEY (department, seq),
    FOREIGN KEY (department, seq) REFERENCES audit (department, seq)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER audit_never_changed BEFORE UPDATE ON audit
BEGIN
    SELECT RAISE(ABORT, 'audit rows are only added');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER audit_never_removed BEFORE DELETE ON audit
BEGIN
    SELECT RAISE(ABORT, 'audit rows are only added');
END;
-- +goose StatementEnd

-- Small facts that have no table of their own, such as the last message that
-- was seen on a platform.
CREATE TABLE settings (
    department TEXT NOT NULL,
    name       TEXT NOT NULL,
    value      TEXT NOT NULL,
    PRIMARY KEY (department, name)
) STRICT;
