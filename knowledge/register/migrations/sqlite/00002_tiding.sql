-- +goose Up
CREATE TABLE tiding ( -- what a deed leads to being told at once; it waits here until the scheduler takes it
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    coop    INTEGER NOT NULL REFERENCES coop (id),
    member  INTEGER REFERENCES member (id) ON DELETE CASCADE, -- NULL: the group
    kind    TEXT    NOT NULL,
    subject INTEGER NOT NULL, -- the row it is about, in the table that its kind names
    day     TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    taken   INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX tiding_waiting ON tiding (id) WHERE taken = 0;
CREATE INDEX tiding_member ON tiding (member);
PRAGMA user_version = 2;
