-- +goose Up
CREATE TABLE identity ( -- tells this register from every other, also in what leaves it
    id    INTEGER PRIMARY KEY CHECK (id = 1),
    token TEXT    NOT NULL
) STRICT;
INSERT INTO identity (id, token) VALUES (1, lower(hex(randomblob(8))));

CREATE TABLE feed_base ( -- the address under which calendars are served, '' while none are
    id  INTEGER PRIMARY KEY CHECK (id = 1),
    url TEXT    NOT NULL
) STRICT;
INSERT INTO feed_base (id, url) VALUES (1, '');

CREATE TABLE feed ( -- where a member's calendar can be subscribed to
    member INTEGER PRIMARY KEY REFERENCES member (id) ON DELETE CASCADE,
    token  TEXT    NOT NULL UNIQUE,
    since  INTEGER NOT NULL
) STRICT;
PRAGMA user_version = 11;
