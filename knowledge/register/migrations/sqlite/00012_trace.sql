-- +goose Up
CREATE INDEX batch_made ON batch (coop, made, parent) WHERE parent IS NOT NULL;
CREATE INDEX event_taken_back ON event (coop) WHERE undone_at <> 0;
PRAGMA user_version = 12;
