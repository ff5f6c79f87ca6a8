-- +goose Up
CREATE TABLE report ( -- a pest that was seen
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    coop   INTEGER NOT NULL REFERENCES coop (id),
    member INTEGER REFERENCES member (id) ON DELETE SET NULL, -- whose plants; NULL: they left
    event  INTEGER REFERENCES event (id) ON DELETE SET NULL,
    pest   TEXT    NOT NULL,
    what   TEXT    NOT NULL DEFAULT '', -- what is seen, in words
    sure   TEXT    NOT NULL,
    seen   TEXT    NOT NULL,
    since  TEXT    NOT NULL, -- the infection was nowhere before
    aloud  TEXT    NOT NULL, -- what the group may hear
    undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1))
) STRICT;
CREATE INDEX report_coop ON report (coop, id);
CREATE INDEX report_member ON report (member);
CREATE INDEX report_event ON report (event);

CREATE TABLE clearing ( -- what ended holds
    id     INTEGER PRIMARY KEY AUTOINCREMENT,
    report INTEGER REFERENCES report (id) ON DELETE CASCADE,
    event  INTEGER REFERENCES event (id) ON DELETE SET NULL,
    whole  INTEGER NOT NULL CHECK (whole IN (0, 1)), -- all that the report held
    reason TEXT    NOT NULL,
    undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1))
) STRICT;
CREATE INDEX clearing_report ON clearing (report);
CREATE INDEX clearing_event ON clearing (event);

CREATE TABLE hold ( -- a batch kept back from offers and swaps
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    batch    INTEGER NOT NULL REFERENCES batch (id) ON DELETE CASCADE,
    report   INTEGER REFERENCES report (id) ON DELETE CASCADE, -- NULL: new stock that stands apart
    why      TEXT    NOT NULL CHECK (why IN ('seen', 'kin', 'apart')),
    since    TEXT    NOT NULL,
    last     TEXT    NOT NULL, -- the last day
    clearing INTEGER REFERENCES clearing (id) ON DELETE SET NULL, -- NULL while it stands
    CHECK ((why = 'apart') = (report IS NULL))
) STRICT;
CREATE UNIQUE INDEX hold_batch ON hold (batch, COALESCE(report, 0));
CREATE INDEX hold_report ON hold (report);
CREATE INDEX hold_clearing ON hold (clearing);

CREATE TABLE warned ( -- who learnt of a report that concerns them
    report INTEGER NOT NULL REFERENCES report (id) ON DELETE CASCADE,
    member INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    day    TEXT    NOT NULL,
    asked  INTEGER NOT NULL CHECK (asked IN (0, 1)), -- they asked for the trace; else they were told
    PRIMARY KEY (report, member)
) STRICT;
CREATE INDEX warned_member ON warned (member);
PRAGMA user_version = 3;
