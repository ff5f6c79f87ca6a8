-- +goose Up
ALTER TABLE identify ADD COLUMN last INTEGER NOT NULL DEFAULT 0; -- when we did so last: another must not follow too soon
PRAGMA user_version = 9;
