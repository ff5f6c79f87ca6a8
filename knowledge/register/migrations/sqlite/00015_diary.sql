-- +goose Up
CREATE TABLE listing ( -- a list that a member brought, and that was shown to them
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    coop    INTEGER NOT NULL REFERENCES coop (id),
    member  INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE, -- who brought it, and alone may enter it
    own     INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE, -- whose plants they are
    name    TEXT    NOT NULL,
    data    BLOB    NOT NULL, -- the file until it is entered, then nothing
    at      INTEGER NOT NULL,
    entered INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX listing_member ON listing (member, entered);
CREATE INDEX listing_own ON listing (own);
CREATE INDEX listing_waiting ON listing (at) WHERE entered = 0;

CREATE TABLE listing_row ( -- rows that were entered, so that none is entered twice
    member  INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    key     TEXT    NOT NULL, -- what the row says, and which of several that say the same
    event   INTEGER NOT NULL REFERENCES event (id) ON DELETE CASCADE,
    listing INTEGER NOT NULL REFERENCES listing (id) ON DELETE CASCADE,
    PRIMARY KEY (member, key)
) STRICT;
CREATE INDEX listing_row_event ON listing_row (event);
CREATE INDEX listing_row_listing ON listing_row (listing);

CREATE TABLE note ( -- the diary
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    coop      INTEGER NOT NULL REFERENCES coop (id),
    member    INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE, -- whose
    by_member INTEGER REFERENCES member (id) ON DELETE SET NULL,         -- who wrote it
    variety   INTEGER REFERENCES variety (id),
    batch     INTEGER REFERENCES batch (id) ON DELETE SET NULL,
    event     INTEGER REFERENCES event (id) ON DELETE CASCADE, -- the bloom or the picking that it came with
    spot      TEXT    NOT NULL DEFAULT '',
    folded    TEXT    NOT NULL DEFAULT '', -- the spot, as it compares
    day       TEXT    NOT NULL,
    words     TEXT    NOT NULL,
    shared    INTEGER NOT NULL DEFAULT 0 CHECK (shared IN (0, 1)),
    at        INTEGER NOT NULL,
    undone_at INTEGER NOT NULL DEFAULT 0,
    undone_by INTEGER REFERENCES member (id) ON DELETE SET NULL
) STRICT;
CREATE INDEX note_member ON note (member, day);
CREATE INDEX note_shared ON note (coop, day) WHERE shared = 1 AND undone_at = 0;
CREATE INDEX note_variety ON note (variety, day);
CREATE INDEX note_batch ON note (batch);
CREATE INDEX note_event ON note (event);
CREATE INDEX note_by ON note (by_member);
CREATE INDEX note_undone ON note (undone_by);

CREATE TABLE photo ( -- of a note, or of a report
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    coop   INTEGER NOT NULL REFERENCES coop (id),
    member INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    note   INTEGER REFERENCES note (id) ON DELETE CASCADE,
    report INTEGER REFERENCES report (id) ON DELETE CASCADE,
    width  INTEGER NOT NULL,
    height INTEGER NOT NULL,
    small  BLOB    NOT NULL, -- JPEG, both
    data   BLOB    NOT NULL,
    at     INTEGER NOT NULL,
    CHECK ((note IS NULL) <> (report IS NULL))
) STRICT;
CREATE INDEX photo_member ON photo (member);
CREATE INDEX photo_note ON photo (note);
CREATE INDEX photo_report ON photo (report);
PRAGMA user_version = 15;
