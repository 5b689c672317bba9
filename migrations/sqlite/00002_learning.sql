-- What is learned from the books, and the forecasts made from it.

-- +goose Up
-- The regrinds of the books as they now stand, a projection like roll_states. A
-- correction or a late entry rewrites those of its roll under new ids, so that
-- whoever has read up to an id sees what has changed since. The stays in stands
-- that a regrind ended are the mountings of its roll that ended in
-- (since_at, happened_at]; what they bore is read from there, because pieces
-- may still arrive late.
CREATE TABLE grinds (
    id             INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    roll           TEXT    NOT NULL,
    entry          INTEGER NOT NULL,
    happened_at    INTEGER NOT NULL,
    recorded_at    INTEGER NOT NULL,
    since_at       INTEGER NOT NULL,
    last_ground_um INTEGER NOT NULL,
    found_um       INTEGER NOT NULL,
    ground_um      INTEGER NOT NULL,
    purpose        TEXT    NOT NULL,
    UNIQUE (roll, entry)
) STRICT;
CREATE INDEX grinds_by_time ON grinds (happened_at, id);
CREATE INDEX grinds_of_roll ON grinds (roll, happened_at, id);

-- The versions of what the regrinds taught.
CREATE TABLE wear_rates (
    version    INTEGER NOT NULL PRIMARY KEY,
    learned_at INTEGER NOT NULL,
    cut_id     INTEGER NOT NULL,
    cut_count  INTEGER NOT NULL,
    campaigns  INTEGER NOT NULL
) STRICT;

-- The parts of it: a grade in a stand with its rolls, a grade in all stands
-- (stand empty), the defaults of a role in a mill (grade and stand empty). A
-- version writes those that it changes; before_version is the one that changed
-- it again, NULL while it is in force.
CREATE TABLE wear_rate_parts (
    mill           TEXT NOT NULL,
    role           TEXT NOT NULL,
    grade          TEXT NOT NULL,
    stand          TEXT NOT NULL,
    version        INTEGER NOT NULL,
    before_version INTEGER,
    doc            TEXT NOT NULL,
    PRIMARY KEY (mill, role, grade, stand, version)
) STRICT;
CREATE INDEX wear_rate_parts_in_force ON wear_rate_parts (mill, role, grade, stand) WHERE before_version IS NULL;

-- What was forecast, kept to be held against what came. A row has either a
-- probability or an interval of 90 %; outcome is what came, 0 or 1 for a
-- probability; void says why nothing will.
CREATE TABLE forecasts (
    id            INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    kind          TEXT    NOT NULL,
    about         TEXT    NOT NULL,
    roll          TEXT    NOT NULL,
    stand         TEXT    NOT NULL,
    grade         TEXT    NOT NULL,
    asked_at      INTEGER NOT NULL,
    asked_by      TEXT    NOT NULL,
    rates_version INTEGER NOT NULL,
    probability   REAL,
    low           REAL,
    middle        REAL,
    high          REAL,
    input         TEXT    NOT NULL,
    outcome       REAL,
    settled_at    INTEGER,
    void          TEXT    NOT NULL,
    UNIQUE (kind, about)
) STRICT;
CREATE INDEX forecasts_open ON forecasts (id) WHERE settled_at IS NULL;
CREATE INDEX forecasts_settled ON forecasts (settled_at, id) WHERE settled_at IS NOT NULL;

-- +goose Down
DROP TABLE forecasts;
DROP TABLE wear_rate_parts;
DROP TABLE wear_rates;
DROP TABLE grinds;
