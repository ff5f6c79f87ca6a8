-- +goose Up
CREATE INDEX stroke_due ON stroke (adapter, next);
PRAGMA user_version = 13;
