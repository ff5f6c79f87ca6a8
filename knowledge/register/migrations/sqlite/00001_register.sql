-- +goose Up
-- Days are text YYYY-MM-DD, days of any year MM-DD, '' where there is none; instants are Unix seconds, 0 for none.
PRAGMA application_id = 1399087481; -- "Sday"
PRAGMA user_version = 1;            -- always the number of this file

CREATE TABLE clock (
    id   INTEGER PRIMARY KEY CHECK (id = 1),
    last INTEGER NOT NULL -- the latest instant at which anything was recorded
) STRICT;
INSERT INTO clock (id, last) VALUES (1, 0);

CREATE TABLE coop (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    key         TEXT    NOT NULL UNIQUE,
    name        TEXT    NOT NULL,
    units       TEXT    NOT NULL DEFAULT 'metric' CHECK (units IN ('metric', 'us')),
    month_first INTEGER NOT NULL DEFAULT 0 CHECK (month_first IN (0, 1)),
    stop_word   TEXT    NOT NULL DEFAULT 'stop' CHECK (stop_word IN ('stop', 'pinch')),
    country     TEXT    NOT NULL DEFAULT '',
    lat         REAL    NOT NULL DEFAULT 0,
    lon         REAL    NOT NULL DEFAULT 0,
    zone        TEXT    NOT NULL DEFAULT '',
    exact       INTEGER NOT NULL DEFAULT 0,
    last_frost  TEXT    NOT NULL DEFAULT '',
    first_frost TEXT    NOT NULL DEFAULT '',
    cover       INTEGER NOT NULL DEFAULT 0,
    bottom_heat INTEGER NOT NULL DEFAULT 0,
    winter_heat INTEGER NOT NULL DEFAULT 0,
    black_out   INTEGER NOT NULL DEFAULT 0,
    lights      INTEGER NOT NULL DEFAULT 0
) STRICT;

CREATE TABLE setting (
    coop  INTEGER NOT NULL REFERENCES coop (id),
    name  TEXT    NOT NULL,
    value REAL    NOT NULL,
    PRIMARY KEY (coop, name)
) STRICT;

CREATE TABLE member (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    coop        INTEGER NOT NULL REFERENCES coop (id),
    key         TEXT    NOT NULL,
    name        TEXT    NOT NULL,
    folded      TEXT    NOT NULL,
    steward     INTEGER NOT NULL DEFAULT 0 CHECK (steward IN (0, 1)),
    units       TEXT    NOT NULL DEFAULT '' CHECK (units IN ('', 'metric', 'us')),
    keep_stools INTEGER NOT NULL DEFAULT 3 CHECK (keep_stools >= 0),
    joined      INTEGER NOT NULL,
    lat         REAL    NOT NULL DEFAULT 0,
    lon         REAL    NOT NULL DEFAULT 0,
    zone        TEXT    NOT NULL DEFAULT '',
    exact       INTEGER NOT NULL DEFAULT 0,
    last_frost  TEXT    NOT NULL DEFAULT '',
    first_frost TEXT    NOT NULL DEFAULT '',
    cover       INTEGER NOT NULL DEFAULT 0,
    bottom_heat INTEGER NOT NULL DEFAULT 0,
    winter_heat INTEGER NOT NULL DEFAULT 0,
    black_out   INTEGER NOT NULL DEFAULT 0,
    lights      INTEGER NOT NULL DEFAULT 0,
    UNIQUE (coop, key)
) STRICT;
CREATE INDEX member_name ON member (coop, folded);

CREATE TABLE variety (
    id              INTEGER PRIMARY KEY AUTOINCREMENT,
    coop            INTEGER NOT NULL REFERENCES coop (id),
    name            TEXT    NOT NULL,
    folded          TEXT    NOT NULL,
    season          TEXT    NOT NULL DEFAULT '',
    form            TEXT    NOT NULL DEFAULT '',
    section         INTEGER NOT NULL DEFAULT 0,
    section_letter  TEXT    NOT NULL DEFAULT '',
    us_class        INTEGER NOT NULL DEFAULT 0,
    colour          TEXT    NOT NULL DEFAULT '',
    response        REAL    NOT NULL DEFAULT 0, -- weeks
    critical_bud    REAL    NOT NULL DEFAULT 0, -- hours
    critical_flower REAL    NOT NULL DEFAULT 0, -- hours
    natural_on      TEXT    NOT NULL DEFAULT '',
    natural_lat     REAL    NOT NULL DEFAULT 0,
    stops_wanted    INTEGER NOT NULL DEFAULT 0,
    kept            INTEGER NOT NULL DEFAULT 0,
    shoots          REAL    NOT NULL DEFAULT 0,
    protection      TEXT    NOT NULL DEFAULT '',
    until           TEXT    NOT NULL DEFAULT '',
    licence         TEXT    NOT NULL DEFAULT '',
    added_by        INTEGER REFERENCES member (id) ON DELETE SET NULL,
    added_at        INTEGER NOT NULL,
    UNIQUE (coop, folded)
) STRICT;
CREATE INDEX variety_added_by ON variety (added_by);

CREATE TABLE stop (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    variety INTEGER NOT NULL REFERENCES variety (id),
    member  INTEGER REFERENCES member (id) ON DELETE CASCADE, -- NULL: the co-op's
    on_day  TEXT    NOT NULL,
    second  TEXT    NOT NULL DEFAULT '',
    bloom   TEXT    NOT NULL DEFAULT '',
    lat     REAL    NOT NULL,
    source  TEXT    NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX stop_variety ON stop (variety);
CREATE INDEX stop_member ON stop (member);

CREATE TABLE own_response (
    variety INTEGER NOT NULL REFERENCES variety (id),
    member  INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    weeks   REAL    NOT NULL,
    PRIMARY KEY (variety, member)
) STRICT;
CREATE INDEX own_response_member ON own_response (member);

CREATE TABLE plan (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    coop       INTEGER NOT NULL REFERENCES coop (id),
    member     INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    variety    INTEGER NOT NULL REFERENCES variety (id),
    since      TEXT    NOT NULL, -- what was done before belongs to an earlier year
    bloom_from TEXT    NOT NULL DEFAULT '', -- '': the keep-plan
    bloom_to   TEXT    NOT NULL DEFAULT '',
    stems      INTEGER NOT NULL DEFAULT 0 CHECK (stems >= 0),
    wanted_way TEXT    NOT NULL DEFAULT '',
    made_at    INTEGER NOT NULL,
    ended      TEXT    NOT NULL DEFAULT '', -- day
    ending     TEXT    NOT NULL DEFAULT '' CHECK (ending IN ('', 'boxed', 'dropped', 'replaced')),
    -- what was reckoned last
    way        TEXT    NOT NULL DEFAULT '',
    earliest   TEXT    NOT NULL DEFAULT '',
    likely     TEXT    NOT NULL DEFAULT '',
    latest     TEXT    NOT NULL DEFAULT '',
    basis      TEXT    NOT NULL DEFAULT '',
    why        TEXT    NOT NULL DEFAULT '',
    refusal    TEXT    NOT NULL DEFAULT '',
    missed     TEXT    NOT NULL DEFAULT '',
    bloomed    TEXT    NOT NULL DEFAULT '',
    CHECK ((ended = '') = (ending = ''))
) STRICT;
CREATE INDEX plan_member ON plan (member, variety);
CREATE INDEX plan_open ON plan (variety, member) WHERE ended = '';
CREATE UNIQUE INDEX plan_keep ON plan (member, variety) WHERE ended = '' AND bloom_from = '';

CREATE TABLE job (
    plan      INTEGER NOT NULL REFERENCES plan (id) ON DELETE CASCADE,
    kind      TEXT    NOT NULL,
    coop      INTEGER NOT NULL,
    member    INTEGER NOT NULL,
    variety   INTEGER NOT NULL,
    earliest  TEXT    NOT NULL,
    likely    TEXT    NOT NULL,
    latest    TEXT    NOT NULL,
    due       TEXT    NOT NULL,
    state     TEXT    NOT NULL CHECK (state IN ('open', 'done', 'skipped', 'dropped')),
    rule      TEXT    NOT NULL DEFAULT '',
    source    TEXT    NOT NULL DEFAULT '',
    last_safe TEXT    NOT NULL DEFAULT '',
    lost      TEXT    NOT NULL DEFAULT '',
    clock     TEXT    NOT NULL DEFAULT '',
    seq       INTEGER NOT NULL DEFAULT 0, -- counts every change of day or state
    PRIMARY KEY (plan, kind)
) STRICT;
CREATE INDEX job_member ON job (member, due) WHERE state = 'open';
CREATE INDEX job_coop ON job (coop, due) WHERE state = 'open';
CREATE INDEX job_variety ON job (variety);

CREATE TABLE mark (
    coop INTEGER NOT NULL REFERENCES coop (id),
    year INTEGER NOT NULL,
    last INTEGER NOT NULL, -- the running number given last; never given again
    PRIMARY KEY (coop, year)
) STRICT;

CREATE TABLE batch (
    id      INTEGER PRIMARY KEY AUTOINCREMENT,
    coop    INTEGER NOT NULL REFERENCES coop (id),
    mark    TEXT    NOT NULL, -- 27-14
    variety INTEGER NOT NULL REFERENCES variety (id),
    member  INTEGER REFERENCES member (id), -- NULL: its member left, and only the lineage is kept
    stage   TEXT    NOT NULL,
    since   TEXT    NOT NULL, -- at this stage
    count   INTEGER NOT NULL CHECK (count >= 0),
    spot    TEXT    NOT NULL DEFAULT '',
    parent  INTEGER REFERENCES batch (id),
    plan    INTEGER REFERENCES plan (id) ON DELETE SET NULL,
    made    TEXT    NOT NULL,
    ended   TEXT    NOT NULL DEFAULT '', -- the day on which none was left
    UNIQUE (coop, mark),
    CHECK ((count = 0) = (ended <> ''))
) STRICT;
CREATE INDEX batch_live ON batch (member, variety) WHERE ended = '';
CREATE INDEX batch_member ON batch (member);
CREATE INDEX batch_variety ON batch (variety);
CREATE INDEX batch_parent ON batch (parent);
CREATE INDEX batch_plan ON batch (plan);

CREATE TABLE event (
    id         INTEGER PRIMARY KEY AUTOINCREMENT,
    coop       INTEGER NOT NULL REFERENCES coop (id),
    member     INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE, -- whose
    by_member  INTEGER REFERENCES member (id) ON DELETE SET NULL,         -- who recorded it
    variety    INTEGER REFERENCES variety (id),
    plan       INTEGER REFERENCES plan (id) ON DELETE SET NULL,
    deed       TEXT    NOT NULL,
    step       TEXT    NOT NULL DEFAULT '', -- the crop's kind of step
    day        TEXT    NOT NULL,
    count      INTEGER NOT NULL DEFAULT 0,
    lost       INTEGER NOT NULL DEFAULT 0,
    stage      TEXT    NOT NULL DEFAULT '', -- of the batch before
    note       TEXT    NOT NULL DEFAULT '',
    at         INTEGER NOT NULL,
    undone_at  INTEGER NOT NULL DEFAULT 0,
    undone_by  INTEGER REFERENCES member (id) ON DELETE SET NULL,
    undone_why TEXT    NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX event_member ON event (member, id);
CREATE INDEX event_season ON event (member, variety, day);
CREATE INDEX event_plan ON event (plan);
CREATE INDEX event_bloom ON event (variety, member) WHERE deed = 'bloom';
CREATE INDEX event_rate ON event (coop, variety, stage);
CREATE INDEX event_by ON event (by_member);
CREATE INDEX event_undone ON event (undone_by);

CREATE TABLE touch ( -- what an event did to a batch, with the batch's state before it
    event INTEGER NOT NULL REFERENCES event (id) ON DELETE CASCADE,
    batch INTEGER NOT NULL REFERENCES batch (id) ON DELETE CASCADE,
    deed  TEXT    NOT NULL, -- '': it only concerns the batch
    delta INTEGER NOT NULL DEFAULT 0,
    made  INTEGER NOT NULL DEFAULT 0 CHECK (made IN (0, 1)),
    stage TEXT    NOT NULL,
    since TEXT    NOT NULL,
    spot  TEXT    NOT NULL,
    plan  INTEGER REFERENCES plan (id) ON DELETE SET NULL,
    PRIMARY KEY (event, batch, deed)
) STRICT;
CREATE INDEX touch_batch ON touch (batch, event);
CREATE INDEX touch_plan ON touch (plan);

CREATE TABLE care ( -- when recurring care was last given, from the events not undone
    batch INTEGER NOT NULL REFERENCES batch (id) ON DELETE CASCADE,
    kind  TEXT    NOT NULL,
    last  TEXT    NOT NULL,
    PRIMARY KEY (batch, kind)
) STRICT;

CREATE TABLE bloom (
    event   INTEGER PRIMARY KEY REFERENCES event (id) ON DELETE CASCADE,
    opened  TEXT    NOT NULL DEFAULT '', -- the first bloom
    full    TEXT    NOT NULL DEFAULT '',
    picked  TEXT    NOT NULL DEFAULT '',
    stems   INTEGER NOT NULL DEFAULT 0 CHECK (stems >= 0),
    way     TEXT    NOT NULL DEFAULT '',
    lat     REAL    NOT NULL DEFAULT 0
) STRICT;
