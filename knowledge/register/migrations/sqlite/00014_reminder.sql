-- +goose Up
ALTER TABLE reminder_setting ADD COLUMN care INTEGER NOT NULL DEFAULT 1 CHECK (care IN (0, 1)); -- routine care is told
PRAGMA user_version = 14;
