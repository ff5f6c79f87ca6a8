-- +goose Up
CREATE TABLE server ( -- a chat server that we were asked into, whether or not its co-op has begun
    key     TEXT    PRIMARY KEY, -- that of its co-op
    name    TEXT    NOT NULL,
    seen    INTEGER NOT NULL,           -- when we first came
    greeted INTEGER NOT NULL DEFAULT 0,
    gone    INTEGER NOT NULL DEFAULT 0, -- when we were removed
    lacking INTEGER NOT NULL DEFAULT 0  -- the rights that its stewards were told we lack
) STRICT;
CREATE INDEX server_gone ON server (gone) WHERE gone > 0;

CREATE TABLE kept_request ( -- what a button stands for when it does not fit on one
    key     TEXT    PRIMARY KEY,
    coop    TEXT    NOT NULL, -- keys of the platform: neither co-op nor asker need be in the register yet
    who     TEXT    NOT NULL, -- '': whoever presses it
    request TEXT    NOT NULL,
    at      INTEGER NOT NULL,
    UNIQUE (coop, who, request)
) STRICT;
CREATE INDEX kept_request_at ON kept_request (at);

CREATE TABLE identify ( -- how often we said who we are, on the one day since
    id    INTEGER PRIMARY KEY CHECK (id = 1),
    since INTEGER NOT NULL,
    count INTEGER NOT NULL
) STRICT;

CREATE TABLE reach ( -- members whom the platform does not let us tell anything
    member INTEGER PRIMARY KEY REFERENCES member (id) ON DELETE CASCADE,
    closed INTEGER NOT NULL DEFAULT 0, -- since when they take no direct messages
    away   INTEGER NOT NULL DEFAULT 0  -- since when they are known to have left the server
) STRICT;

CREATE INDEX member_key ON member (key);
PRAGMA user_version = 4;
