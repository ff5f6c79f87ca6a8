-- +goose Up
CREATE TABLE notice_setting ( -- how a co-op's group is told; a co-op without a row has the defaults
    coop         INTEGER PRIMARY KEY REFERENCES coop (id),
    adapter      TEXT    NOT NULL CHECK (adapter IN ('terminal', 'discord')),
    place        TEXT    NOT NULL, -- the adapter's own name of it, '' where there is only one
    times        TEXT    NOT NULL, -- '' for never
    week_ahead   INTEGER NOT NULL CHECK (week_ahead BETWEEN -1 AND 6), -- 0 for Sunday, -1 for none
    care         INTEGER NOT NULL CHECK (care IN (0, 1)),
    calls        INTEGER NOT NULL CHECK (calls IN (0, 1)),
    steward_role TEXT    NOT NULL,
    struck       TEXT    NOT NULL DEFAULT '' -- the day struck last
) STRICT;

CREATE TABLE reminder_setting ( -- how a member is told; a member without a row is not reminded
    member         INTEGER PRIMARY KEY REFERENCES member (id) ON DELETE CASCADE,
    wanted         INTEGER NOT NULL CHECK (wanted IN (0, 1)),
    times          TEXT    NOT NULL,
    quiet          TEXT    NOT NULL,
    called         INTEGER NOT NULL CHECK (called IN (0, 1)),
    paused         TEXT    NOT NULL DEFAULT '', -- why nothing can be told, '' where it can
    struck         TEXT    NOT NULL DEFAULT '', -- the day whose morning was struck last
    struck_evening TEXT    NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX reminder_wanted ON reminder_setting (member) WHERE wanted = 1 AND paused = '';

CREATE TABLE said ( -- what was told of a job, so that it is told once
    plan  INTEGER NOT NULL REFERENCES plan (id) ON DELETE CASCADE,
    step  TEXT    NOT NULL,
    about TEXT    NOT NULL,
    day   TEXT    NOT NULL, -- the day that it was told of, '' where it is told once whatever the day
    told  INTEGER NOT NULL, -- the member told, 0 for the group
    at    INTEGER NOT NULL,
    PRIMARY KEY (plan, step, about, day, told)
) STRICT;

CREATE INDEX plan_target ON plan (coop) WHERE ended = '' AND bloom_from <> '';
CREATE INDEX job_safe ON job (coop, last_safe) WHERE state = 'open' AND last_safe <> '';
PRAGMA user_version = 5;
