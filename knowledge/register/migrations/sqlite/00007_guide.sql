-- +goose Up
-- Full-text search is a dialect's own. What the index holds is made from the handbook's texts whenever they change.
CREATE VIRTUAL TABLE guide_text USING fts5 (
    topic UNINDEXED, title, also, short, more,
    tokenize = 'porter unicode61 remove_diacritics 2'
);
CREATE TABLE guide_state (
    id     INTEGER PRIMARY KEY CHECK (id = 1),
    digest TEXT NOT NULL
) STRICT;
INSERT INTO guide_state (id, digest) VALUES (1, '');
PRAGMA user_version = 7;
