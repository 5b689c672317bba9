-- Chocks with their bearings, and the block of stands on one drive.

-- +goose Up
ALTER TABLE stands ADD COLUMN drive_block TEXT COLLATE "C" NOT NULL DEFAULT '';

-- Where a chock is by its book, for lists and for one chock in one place.
CREATE TABLE chocks (
    name     TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    mill     TEXT COLLATE "C" NOT NULL REFERENCES mills (name),
    role     TEXT COLLATE "C" NOT NULL,
    set_name TEXT COLLATE "C" NOT NULL,
    place    TEXT COLLATE "C" NOT NULL,
    version  BIGINT NOT NULL CHECK (version > 0)
);
CREATE UNIQUE INDEX chocks_one_place ON chocks (set_name, place) WHERE set_name <> '';
CREATE INDEX chocks_of_mill ON chocks (mill, name);

-- The books. Nothing in here is ever changed or removed: the function is that
-- of the books of rolls.
CREATE TABLE chock_entries (
    chock       TEXT COLLATE "C" NOT NULL,
    number      BIGINT NOT NULL CHECK (number > 0),
    kind        TEXT COLLATE "C" NOT NULL,
    happened_at BIGINT NOT NULL,
    recorded_at BIGINT NOT NULL,
    recorded_by TEXT COLLATE "C" NOT NULL,
    body        TEXT COLLATE "C" NOT NULL,
    PRIMARY KEY (chock, number)
);
CREATE TRIGGER chock_entries_keep_rows BEFORE UPDATE OR DELETE ON chock_entries
    FOR EACH ROW EXECUTE FUNCTION entries_keep();
CREATE TRIGGER chock_entries_keep_all BEFORE TRUNCATE ON chock_entries
    FOR EACH STATEMENT EXECUTE FUNCTION entries_keep();

-- +goose Down
DROP TABLE chock_entries;
DROP TABLE chocks;
ALTER TABLE stands DROP COLUMN drive_block;
