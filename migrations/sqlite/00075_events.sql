-- What others are told of what was recorded, written in the transaction that
-- records it. Entries of books are named by roll and number and not repeated
-- here; data tells the rest. There is one writer at a time, so the order of
-- writing is that of keeping: position, which on PostgreSQL is given afterwards.

-- +goose Up
CREATE TABLE events (
    id          INTEGER NOT NULL PRIMARY KEY AUTOINCREMENT,
    position    INTEGER GENERATED ALWAYS AS (id) VIRTUAL,
    kind        TEXT    NOT NULL,
    subject     TEXT    NOT NULL,
    mill        TEXT    NOT NULL,
    recorded_at INTEGER NOT NULL,
    roll        TEXT    NOT NULL,
    entry       INTEGER NOT NULL,
    data        TEXT    NOT NULL
) STRICT;

-- +goose Down
DROP TABLE events;
