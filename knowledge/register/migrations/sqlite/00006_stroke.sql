-- +goose Up
CREATE TABLE stroke ( -- at which hours the group of a co-op, or a member, is told, and how far that has come
    id      INTEGER PRIMARY KEY,
    coop    INTEGER NOT NULL REFERENCES coop (id) ON DELETE CASCADE,
    member  INTEGER REFERENCES member (id) ON DELETE CASCADE, -- NULL: the group
    kind    TEXT    NOT NULL,
    adapter TEXT    NOT NULL DEFAULT '', -- adapter, times and zone as they were last taken up
    times   TEXT    NOT NULL DEFAULT '',
    zone    TEXT    NOT NULL DEFAULT '',
    last    TEXT    NOT NULL DEFAULT '', -- the local day last struck
    said    TEXT    NOT NULL DEFAULT '', -- the local day up to which all was told
    next    INTEGER NOT NULL DEFAULT 0,  -- when it is struck next; 0: settings changed
    changed INTEGER NOT NULL DEFAULT 0,  -- when they did
    seq     INTEGER NOT NULL DEFAULT 1   -- counts the changes
) STRICT;
CREATE UNIQUE INDEX stroke_addressee ON stroke (coop, COALESCE(member, 0), kind);
CREATE INDEX stroke_next ON stroke (next);
CREATE INDEX stroke_member ON stroke (member);
INSERT INTO stroke (coop, kind, changed) SELECT id, 'notice', (SELECT last FROM clock) FROM coop;

CREATE TABLE telling ( -- what became of a notice: it decides what has been said
    key     TEXT    PRIMARY KEY,
    coop    INTEGER NOT NULL REFERENCES coop (id) ON DELETE CASCADE,
    member  INTEGER REFERENCES member (id) ON DELETE CASCADE, -- NULL: the group
    kind    TEXT    NOT NULL,
    day     TEXT    NOT NULL,
    doubt   INTEGER NOT NULL DEFAULT 0,  -- it may have gone although no receipt came back
    refused INTEGER NOT NULL DEFAULT 0,  -- when its place was first found gone
    ended   TEXT    NOT NULL DEFAULT '', -- how
    receipt TEXT    NOT NULL DEFAULT '',
    at      INTEGER NOT NULL DEFAULT 0   -- of the end
) STRICT;
CREATE INDEX telling_addressee ON telling (coop, COALESCE(member, 0), at);
CREATE INDEX telling_member ON telling (member);
CREATE INDEX telling_at ON telling (at);

ALTER TABLE notice_setting DROP COLUMN struck; -- stroke has them
ALTER TABLE reminder_setting DROP COLUMN struck;
ALTER TABLE reminder_setting DROP COLUMN struck_evening;
INSERT INTO stroke (coop, member, kind, changed)
SELECT m.coop, m.id, k.kind, (SELECT last FROM clock) FROM reminder_setting s JOIN member m ON m.id = s.member, (SELECT 'morning' AS kind UNION SELECT 'evening') k;

ALTER TABLE clock ADD COLUMN restored INTEGER NOT NULL DEFAULT 0; -- a backup was put back
ALTER TABLE clock ADD COLUMN looked   INTEGER NOT NULL DEFAULT 0; -- notices due until then may have gone before that
PRAGMA user_version = 6;
