-- +goose Up
DROP INDEX batch_member;
CREATE INDEX batch_member ON batch (member, made, ended, spot); -- where a member's batches stood is read from it alone
PRAGMA user_version = 17;
