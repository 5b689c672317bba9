-- What is kept of every table beside its rows: how many there are of each part
-- of it, and the exclusive or of their SHA-256 digests, written in the
-- transaction that changes the rows. The triggers that do so are made by package
-- migrations, which knows the columns. Lanes keep writers of one part out of one
-- another's way on PostgreSQL; lane -1 is what was found wrong before the columns
-- changed, so that sealing anew hides nothing.

-- +goose Up
CREATE TABLE seals (
    source TEXT    NOT NULL,
    shard  TEXT    NOT NULL,
    lane   INTEGER NOT NULL,
    kept   INTEGER NOT NULL,
    digest BLOB    NOT NULL,
    PRIMARY KEY (source, shard, lane)
) STRICT, WITHOUT ROWID;

-- By which columns and parts each table is sealed.
CREATE TABLE seal_sources (
    source TEXT NOT NULL PRIMARY KEY,
    rule   TEXT NOT NULL
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE seal_sources;
DROP TABLE seals;
