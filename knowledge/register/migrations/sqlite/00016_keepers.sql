-- +goose Up
CREATE INDEX batch_keepers ON batch (variety, member) WHERE ended = ''; -- who keeps a variety, however common it is
PRAGMA user_version = 16;
