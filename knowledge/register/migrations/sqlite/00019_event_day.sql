-- +goose Up
CREATE INDEX event_day ON event (member, day); -- what a member recorded in a week
PRAGMA user_version = 19;
