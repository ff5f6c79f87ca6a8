-- +goose Up
ALTER TABLE coop ADD COLUMN sharing TEXT NOT NULL DEFAULT '' CHECK (sharing IN ('', 'balance'));
ALTER TABLE coop ADD COLUMN credit INTEGER NOT NULL DEFAULT 0 CHECK (credit >= 0);
ALTER TABLE member ADD COLUMN country TEXT NOT NULL DEFAULT '';

CREATE TABLE offer (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    coop      INTEGER NOT NULL REFERENCES coop (id),
    member    INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    batch     INTEGER NOT NULL REFERENCES batch (id) ON DELETE CASCADE,
    variety   INTEGER NOT NULL REFERENCES variety (id),
    stock     TEXT    NOT NULL,
    number    INTEGER NOT NULL CHECK (number > 0),
    free      INTEGER NOT NULL CHECK (free >= 0), -- of the number, what nothing holds and the batch can give
    ready     TEXT    NOT NULL,
    until     TEXT    NOT NULL,
    own_ready INTEGER NOT NULL DEFAULT 0 CHECK (own_ready IN (0, 1)), -- its member said the day
    own_until INTEGER NOT NULL DEFAULT 0 CHECK (own_until IN (0, 1)),
    spot      TEXT    NOT NULL DEFAULT '', -- where it is handed over
    made_at   INTEGER NOT NULL,
    warned    INTEGER NOT NULL DEFAULT 0 CHECK (warned IN (0, 1)),
    ended     TEXT    NOT NULL DEFAULT '', -- day
    ending    TEXT    NOT NULL DEFAULT '' CHECK (ending IN ('', 'served', 'over', 'withdrawn', 'gone')),
    CHECK ((ended = '') = (ending = ''))
) STRICT;
CREATE INDEX offer_shelf ON offer (coop, variety, ready) WHERE ended = '';
CREATE INDEX offer_day ON offer (coop, ready) WHERE ended = '';
CREATE INDEX offer_ends ON offer (coop, until) WHERE ended = '';
CREATE INDEX offer_member ON offer (member);
CREATE INDEX offer_batch ON offer (batch);
CREATE INDEX offer_variety ON offer (variety);

CREATE TABLE want (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    coop     INTEGER NOT NULL REFERENCES coop (id),
    member   INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    variety  INTEGER REFERENCES variety (id), -- NULL: any of a season, form or colour
    alike    INTEGER REFERENCES variety (id), -- any like this one
    season   TEXT    NOT NULL DEFAULT '',
    form     TEXT    NOT NULL DEFAULT '',
    colour   TEXT    NOT NULL DEFAULT '',
    stock    TEXT    NOT NULL,
    number   INTEGER NOT NULL CHECK (number > 0),
    free     INTEGER NOT NULL CHECK (free >= 0), -- of the number, what nothing is promised for
    last     TEXT    NOT NULL,
    plan     INTEGER REFERENCES plan (id) ON DELETE SET NULL, -- the target that it serves
    own_last INTEGER NOT NULL DEFAULT 0 CHECK (own_last IN (0, 1)),
    made_at  INTEGER NOT NULL,
    warned   INTEGER NOT NULL DEFAULT 0 CHECK (warned IN (0, 1)),
    ended    TEXT    NOT NULL DEFAULT '',
    ending   TEXT    NOT NULL DEFAULT '' CHECK (ending IN ('', 'served', 'over', 'withdrawn')),
    CHECK ((ended = '') = (ending = ''))
) STRICT;
CREATE INDEX want_shelf ON want (coop, variety, last) WHERE ended = '';
CREATE INDEX want_ends ON want (coop, last) WHERE ended = '';
CREATE INDEX want_member ON want (member);
CREATE INDEX want_variety ON want (variety);
CREATE INDEX want_alike ON want (alike);
CREATE INDEX want_plan ON want (plan);

CREATE TABLE declined ( -- what is not proposed again
    offer INTEGER NOT NULL REFERENCES offer (id) ON DELETE CASCADE,
    want  INTEGER NOT NULL REFERENCES want (id) ON DELETE CASCADE,
    until TEXT    NOT NULL DEFAULT '', -- the last day; '': never again
    PRIMARY KEY (offer, want)
) STRICT;
CREATE INDEX declined_want ON declined (want);

CREATE TABLE proposal (
    id       INTEGER PRIMARY KEY AUTOINCREMENT,
    coop     INTEGER NOT NULL REFERENCES coop (id),
    made     TEXT    NOT NULL,
    expires  TEXT    NOT NULL, -- the last day on which it can be agreed
    reminded INTEGER NOT NULL DEFAULT 0 CHECK (reminded IN (0, 1)),
    state    TEXT    NOT NULL CHECK (state IN ('open', 'agreed', 'refused', 'lapsed', 'broken')),
    why      TEXT    NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX proposal_coop ON proposal (coop);
CREATE INDEX proposal_open ON proposal (coop, expires) WHERE state = 'open';

CREATE TABLE assent ( -- what each member whom a proposal touches says to it
    proposal INTEGER NOT NULL REFERENCES proposal (id) ON DELETE CASCADE,
    member   INTEGER NOT NULL REFERENCES member (id) ON DELETE CASCADE,
    answer   TEXT    NOT NULL DEFAULT '' CHECK (answer IN ('', 'yes', 'no')),
    PRIMARY KEY (proposal, member)
) STRICT;
CREATE INDEX assent_member ON assent (member);

CREATE TABLE swap (
    id          INTEGER PRIMARY KEY AUTOINCREMENT,
    coop        INTEGER NOT NULL REFERENCES coop (id),
    proposal    INTEGER NOT NULL REFERENCES proposal (id),
    offer       INTEGER REFERENCES offer (id) ON DELETE SET NULL,
    want        INTEGER REFERENCES want (id) ON DELETE SET NULL,
    giver       INTEGER REFERENCES member (id) ON DELETE SET NULL, -- NULL: has left
    receiver    INTEGER REFERENCES member (id) ON DELETE SET NULL,
    batch       INTEGER REFERENCES batch (id) ON DELETE SET NULL, -- the giver's
    variety     INTEGER NOT NULL REFERENCES variety (id),
    stock       TEXT    NOT NULL,
    number      INTEGER NOT NULL CHECK (number > 0),
    shoots      INTEGER NOT NULL CHECK (shoots IN (0, 1)), -- of plants that stay: no part of the batch's number
    first       TEXT    NOT NULL, -- the days on which it can be handed over
    last        TEXT    NOT NULL,
    state       TEXT    NOT NULL CHECK (state IN ('proposed', 'agreed', 'given', 'received', 'refused', 'lapsed', 'broken', 'cancelled')),
    given       INTEGER NOT NULL DEFAULT 0 CHECK (given >= 0),
    given_on    TEXT    NOT NULL DEFAULT '',
    received    INTEGER NOT NULL DEFAULT 0 CHECK (received >= 0),
    received_on TEXT    NOT NULL DEFAULT '',
    made        INTEGER REFERENCES batch (id) ON DELETE SET NULL, -- the receiver's
    told        TEXT    NOT NULL DEFAULT '', -- the day on which its members were last told to hand it over
    why         TEXT    NOT NULL DEFAULT '' -- it was cancelled or corrected
) STRICT;
CREATE INDEX swap_coop ON swap (coop, state, last);
CREATE INDEX swap_proposal ON swap (proposal);
CREATE INDEX swap_offer ON swap (offer);
CREATE INDEX swap_want ON swap (want);
CREATE INDEX swap_giver ON swap (giver, state);
CREATE INDEX swap_receiver ON swap (receiver, state);
CREATE INDEX swap_batch ON swap (batch, state);
CREATE INDEX swap_made ON swap (made);
CREATE INDEX swap_variety ON swap (variety);
PRAGMA user_version = 8;
