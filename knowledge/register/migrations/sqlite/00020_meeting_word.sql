-- +goose Up
CREATE TABLE meeting_word ( -- who is still to be reminded of a handover, and when
    swap   INTEGER NOT NULL REFERENCES swap (id) ON DELETE CASCADE,
    member INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    due    INTEGER NOT NULL, -- Unix seconds
    PRIMARY KEY (swap, member)
) STRICT;
CREATE INDEX meeting_word_due ON meeting_word (due);
CREATE INDEX meeting_word_member ON meeting_word (member);
DROP INDEX meeting_ahead;
ALTER TABLE meeting DROP COLUMN giver_told;
ALTER TABLE meeting DROP COLUMN receiver_told;
PRAGMA user_version = 20;
