-- Moments are whole microseconds since 1970 UTC. Lengths of record are whole
-- micrometres. Documents (body, state, totals, usage, doc, …) are JSON text.
-- Keep names, order and nullability of the columns the same as in ../postgres.

-- +goose Up
CREATE TABLE mills (
    name              TEXT    NOT NULL PRIMARY KEY,
    kind              TEXT    NOT NULL,
    title             TEXT    NOT NULL,
    density_kg_per_m3 REAL    NOT NULL
) STRICT;

-- The sum in the check is finite exactly when every limit is; SQLite turns NaN
-- into NULL, which NOT NULL refuses.
CREATE TABLE stands (
    name                TEXT    NOT NULL PRIMARY KEY,
    mill                TEXT    NOT NULL REFERENCES mills (name),
    pass_order          INTEGER NOT NULL,
    arrangement         TEXT    NOT NULL,
    vertical            INTEGER NOT NULL CHECK (vertical IN (0, 1)),
    reversing           INTEGER NOT NULL CHECK (reversing IN (0, 1)),
    max_force_kn        REAL    NOT NULL,
    max_torque_knm      REAL    NOT NULL,
    min_rpm             REAL    NOT NULL,
    max_rpm             REAL    NOT NULL,
    min_stack_um        INTEGER NOT NULL,
    max_stack_um        INTEGER NOT NULL,
    max_shim_um         INTEGER NOT NULL,
    reference_work_um   INTEGER NOT NULL,
    reference_backup_um INTEGER NOT NULL,
    bending_force_kn    REAL    NOT NULL,
    version             INTEGER NOT NULL,
    CHECK (abs(max_force_kn) + abs(max_torque_knm) + abs(min_rpm) + abs(max_rpm) + abs(bending_force_kn) < 9e999)
) STRICT;
CREATE INDEX stands_in_order ON stands (mill, pass_order, name);

CREATE TABLE grades (
    name       TEXT NOT NULL PRIMARY KEY,
    family     TEXT NOT NULL,
    title      TEXT NOT NULL,
    properties TEXT NOT NULL
) STRICT;

-- Every version stays; the greatest is the current one.
CREATE TABLE practices (
    name     TEXT    NOT NULL,
    version  INTEGER NOT NULL,
    mill     TEXT    NOT NULL,
    stand    TEXT    NOT NULL,
    role     TEXT    NOT NULL,
    grade    TEXT    NOT NULL,
    settings TEXT    NOT NULL,
    PRIMARY KEY (name, version)
) STRICT;

-- The books. Nothing in here is ever changed or removed.
CREATE TABLE entries (
    roll        TEXT    NOT NULL,
    number      INTEGER NOT NULL CHECK (number > 0),
    kind        TEXT    NOT NULL,
    happened_at INTEGER NOT NULL,
    recorded_at INTEGER NOT NULL,
    recorded_by TEXT    NOT NULL,
    reason      TEXT    NOT NULL,
    body        TEXT    NOT NULL,
    hash        TEXT    NOT NULL,
    PRIMARY KEY (roll, number)
) STRICT;
-- +goose StatementBegin
CREATE TRIGGER entries_keep_update BEFORE UPDATE ON entries
BEGIN
    SELECT RAISE(ABORT, 'entries of a book are never changed; correct it by a new entry');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entries_keep_delete BEFORE DELETE ON entries
BEGIN
    SELECT RAISE(ABORT, 'entries of a book are never removed; correct it by a new entry');
END;
-- +goose StatementEnd

-- INSERT OR REPLACE would remove a row past the trigger on DELETE.
-- +goose StatementBegin
CREATE TRIGGER entries_keep_replace BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE roll = NEW.roll AND number = NEW.number)
BEGIN
    SELECT RAISE(ABORT, 'entries of a book are never replaced; correct it by a new entry');
END;
-- +goose StatementEnd

-- What replaying each book gives, written with the entry, so that reading a
-- roll never reads its book. The columns beside state are what lists filter by.
CREATE TABLE roll_states (
    number      TEXT    NOT NULL PRIMARY KEY,
    version     INTEGER NOT NULL CHECK (version > 0),
    stage       TEXT    NOT NULL,
    role        TEXT    NOT NULL,
    mill        TEXT    NOT NULL REFERENCES mills (name),
    grade       TEXT    NOT NULL,
    stand       TEXT    NOT NULL,
    set_name    TEXT    NOT NULL,
    held        INTEGER NOT NULL CHECK (held IN (0, 1)),
    diameter_um INTEGER NOT NULL,
    hash        TEXT    NOT NULL,
    state       TEXT    NOT NULL,
    totals      TEXT    NOT NULL
) STRICT;
CREATE INDEX roll_states_mill ON roll_states (mill, role, stage, number);
CREATE INDEX roll_states_grade ON roll_states (grade, number);
CREATE INDEX roll_states_stand ON roll_states (stand, number);
CREATE INDEX roll_states_set ON roll_states (set_name, number);

CREATE TABLE sets (
    name      TEXT    NOT NULL PRIMARY KEY,
    role      TEXT    NOT NULL,
    mill      TEXT    NOT NULL REFERENCES mills (name),
    top       TEXT    NOT NULL,
    bottom    TEXT    NOT NULL,
    built_at  INTEGER NOT NULL,
    broken_at INTEGER,
    stand     TEXT    NOT NULL,
    version   INTEGER NOT NULL
) STRICT;
CREATE INDEX sets_standing ON sets (name) WHERE broken_at IS NULL;

-- withdrawn_at is NULL while the roll is in.
CREATE TABLE mountings (
    id           INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    roll         TEXT    NOT NULL,
    stand        TEXT    NOT NULL REFERENCES stands (name),
    position     TEXT    NOT NULL,
    set_name     TEXT    NOT NULL,
    mounted_at   INTEGER NOT NULL,
    withdrawn_at INTEGER CHECK (withdrawn_at >= mounted_at),
    diameter_um  INTEGER NOT NULL,
    usage        TEXT    NOT NULL
) STRICT;
CREATE UNIQUE INDEX mountings_one_place ON mountings (roll) WHERE withdrawn_at IS NULL;
CREATE UNIQUE INDEX mountings_one_roll ON mountings (stand, position) WHERE withdrawn_at IS NULL;
CREATE INDEX mountings_of_roll ON mountings (roll, mounted_at, id);
-- The end of a mounting, for those that have not ended the last moment there is.
CREATE INDEX mountings_by_end ON mountings (stand, coalesce(withdrawn_at, 9223372036854775807));

CREATE TABLE changes (
    name        TEXT    NOT NULL PRIMARY KEY,
    stand       TEXT    NOT NULL,
    role        TEXT    NOT NULL,
    happened_at INTEGER NOT NULL,
    set_out     TEXT    NOT NULL,
    set_in      TEXT    NOT NULL,
    why         TEXT    NOT NULL,
    recorded_by TEXT    NOT NULL,
    note        TEXT    NOT NULL
) STRICT;
CREATE INDEX changes_newest ON changes (happened_at, name);
CREATE INDEX changes_of_stand ON changes (stand, happened_at, name);

CREATE TABLE incidents (
    name        TEXT    NOT NULL PRIMARY KEY,
    what        TEXT    NOT NULL,
    stand       TEXT    NOT NULL,
    happened_at INTEGER NOT NULL,
    rolls       TEXT    NOT NULL,
    recorded_by TEXT    NOT NULL,
    note        TEXT    NOT NULL
) STRICT;
CREATE INDEX incidents_newest ON incidents (happened_at, name);

-- A piece sent twice is known by its source and the id it has there.
CREATE TABLE pieces (
    source    TEXT    NOT NULL,
    id        TEXT    NOT NULL,
    mill      TEXT    NOT NULL,
    rolled_at INTEGER NOT NULL,
    doc       TEXT    NOT NULL,
    PRIMARY KEY (source, id)
) STRICT;
CREATE INDEX pieces_newest ON pieces (rolled_at, source, id);
CREATE INDEX pieces_of_mill ON pieces (mill, rolled_at, source, id);

-- How many pieces there are, so that nobody has to count millions of rows.
CREATE TABLE piece_counts (
    mill   TEXT    NOT NULL PRIMARY KEY,
    pieces INTEGER NOT NULL
) STRICT;

-- doc holds the pieces and comes last: a list reads the columns before it only.
CREATE TABLE campaigns (
    name              TEXT    NOT NULL PRIMARY KEY,
    mill              TEXT    NOT NULL REFERENCES mills (name),
    starts_at         INTEGER NOT NULL,
    minutes_per_piece REAL    NOT NULL,
    piece_count       INTEGER NOT NULL,
    tonnage_t         REAL    NOT NULL,
    stops             TEXT    NOT NULL,
    loaded_by         TEXT    NOT NULL,
    doc               TEXT    NOT NULL
) STRICT;
CREATE INDEX campaigns_newest ON campaigns (starts_at, name);
CREATE INDEX campaigns_of_mill ON campaigns (mill, starts_at, name);

CREATE TABLE tokens (
    name       TEXT    NOT NULL PRIMARY KEY,
    hash       TEXT    NOT NULL UNIQUE,
    role       TEXT    NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    revoked_at INTEGER
) STRICT;

CREATE TABLE audit (
    id          INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    happened_at INTEGER NOT NULL,
    actor       TEXT    NOT NULL,
    what        TEXT    NOT NULL,
    request_id  TEXT    NOT NULL
) STRICT;

-- Answers remembered for requests with an idempotency key.
CREATE TABLE answers (
    actor       TEXT    NOT NULL,
    operation   TEXT    NOT NULL,
    request_key TEXT    NOT NULL,
    fingerprint TEXT    NOT NULL,
    answer      BLOB    NOT NULL,
    answered_at INTEGER NOT NULL,
    PRIMARY KEY (actor, operation, request_key)
) STRICT;
CREATE INDEX answers_oldest ON answers (answered_at);

-- +goose Down
DROP TABLE answers;
DROP TABLE audit;
DROP TABLE tokens;
DROP TABLE campaigns;
DROP TABLE piece_counts;
DROP TABLE pieces;
DROP TABLE incidents;
DROP TABLE changes;
DROP TABLE mountings;
DROP TABLE sets;
DROP TABLE roll_states;
DROP TABLE entries;
DROP TABLE practices;
DROP TABLE grades;
DROP TABLE stands;
DROP TABLE mills;
