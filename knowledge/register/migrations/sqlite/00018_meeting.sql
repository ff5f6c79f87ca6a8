-- +goose Up
CREATE TABLE meeting ( -- the day, hour and place appointed for handing a swap over
    swap          INTEGER PRIMARY KEY REFERENCES swap (id) ON DELETE CASCADE,
    coop          INTEGER NOT NULL REFERENCES coop (id),
    at            INTEGER NOT NULL, -- Unix seconds
    zone          TEXT    NOT NULL, -- the one by whose clock the hour was told
    day           TEXT    NOT NULL, -- by that clock
    spot          TEXT    NOT NULL,
    changed       INTEGER NOT NULL, -- when it was last appointed or called off
    seq           INTEGER NOT NULL DEFAULT 0, -- grows with every change, for calendars
    called_off    INTEGER NOT NULL DEFAULT 0 CHECK (called_off IN (0, 1)),
    giver_told    INTEGER NOT NULL DEFAULT 0 CHECK (giver_told IN (0, 1)), -- reminded of it
    receiver_told INTEGER NOT NULL DEFAULT 0 CHECK (receiver_told IN (0, 1))
) STRICT;
CREATE INDEX meeting_ahead ON meeting (coop, at) WHERE called_off = 0;
PRAGMA user_version = 18;
