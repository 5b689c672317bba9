-- Chocks with their bearings, and the block of stands on one drive.

-- +goose Up
ALTER TABLE stands ADD COLUMN drive_block TEXT NOT NULL DEFAULT '';

-- Where a chock is by its book, for lists and for one chock in one place.
CREATE TABLE chocks (
    name     TEXT    NOT NULL PRIMARY KEY,
    mill     TEXT    NOT NULL REFERENCES mills (name),
    role     TEXT    NOT NULL,
    set_name TEXT    NOT NULL,
    place    TEXT    NOT NULL,
    version  INTEGER NOT NULL CHECK (version > 0)
) STRICT;
CREATE UNIQUE INDEX chocks_one_place ON chocks (set_name, place) WHERE set_name <> '';
CREATE INDEX chocks_of_mill ON chocks (mill, name);

-- The books. Nothing in here is ever changed or removed.
CREATE TABLE chock_entries (
    chock       TEXT    NOT NULL,
    number      INTEGER NOT NULL CHECK (number > 0),
    kind        TEXT    NOT NULL,
    happened_at INTEGER NOT NULL,
    recorded_at INTEGER NOT NULL,
    recorded_by TEXT    NOT NULL,
    body        TEXT    NOT NULL,
    PRIMARY KEY (chock, number)
) STRICT;
-- +goose StatementBegin
CREATE TRIGGER chock_entries_keep_update BEFORE UPDATE ON chock_entries
BEGIN
    SELECT RAISE(ABORT, 'entries of a book are never changed; correct it by a new entry');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER chock_entries_keep_delete BEFORE DELETE ON chock_entries
BEGIN
    SELECT RAISE(ABORT, 'entries of a book are never removed; correct it by a new entry');
END;
-- +goose StatementEnd

-- INSERT OR REPLACE would remove a row past the trigger on DELETE.
-- +goose StatementBegin
CREATE TRIGGER chock_entries_keep_replace BEFORE INSERT ON chock_entries
WHEN EXISTS (SELECT 1 FROM chock_entries WHERE chock = NEW.chock AND number = NEW.number)
BEGIN
    SELECT RAISE(ABORT, 'entries of a book are never replaced; correct it by a new entry');
END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE chock_entries;
DROP TABLE chocks;
ALTER TABLE stands DROP COLUMN drive_block;
