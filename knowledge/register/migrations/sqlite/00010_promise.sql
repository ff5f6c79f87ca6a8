-- +goose Up
CREATE TABLE promise ( -- stems that the co-op promised for a week
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    coop    INTEGER NOT NULL REFERENCES coop (id),
    number  INTEGER NOT NULL, -- by which the co-op names it; never given again
    week    TEXT    NOT NULL, -- its Monday
    stems   INTEGER NOT NULL CHECK (stems > 0),
    variety INTEGER REFERENCES variety (id), -- NULL: any that is like the next three say
    colour  TEXT    NOT NULL DEFAULT '',
    season  TEXT    NOT NULL DEFAULT '',
    form    TEXT    NOT NULL DEFAULT '',
    buyer   TEXT    NOT NULL DEFAULT '', -- for the stewards alone
    made_by INTEGER REFERENCES member (id) ON DELETE SET NULL,
    made_at INTEGER NOT NULL,
    dropped TEXT    NOT NULL DEFAULT '', -- day
    UNIQUE (coop, number)
) STRICT;
CREATE INDEX promise_week ON promise (coop, week) WHERE dropped = '';
CREATE INDEX promise_maker ON promise (made_by);
CREATE INDEX promise_variety ON promise (variety);

CREATE INDEX plan_season ON plan (coop, bloom_from) WHERE bloom_from <> '';
CREATE INDEX event_coop_bloom ON event (coop, day, member, variety) WHERE deed = 'bloom';
PRAGMA user_version = 10;
