-- A chain of sign-offs of the whole works. Each holds, for every part of every
-- table that has changed since the one before it, how many rows were kept and the
-- digest of their seal, and a hash over that and the hash before it. Seals can be
-- reckoned anew by whoever may write to the database; the chain cannot without
-- another last hash, and that one is noted outside.

-- +goose Up
CREATE TABLE sign_offs (
    number    INTEGER NOT NULL PRIMARY KEY,
    signed_at INTEGER NOT NULL,
    signed_by TEXT   NOT NULL,
    note      TEXT   NOT NULL,
    sealed_by TEXT   NOT NULL,
    kept      INTEGER NOT NULL,
    hash      TEXT   NOT NULL
) STRICT;
CREATE TABLE signed_heads (
    sign_off INTEGER  NOT NULL,
    source   TEXT NOT NULL,
    shard    TEXT NOT NULL,
    kept     INTEGER  NOT NULL,
    digest   BLOB NOT NULL,
    PRIMARY KEY (source, shard, sign_off)
) STRICT, WITHOUT ROWID;
CREATE INDEX signed_heads_in_order ON signed_heads (sign_off, source, shard);

-- +goose Down
DROP TABLE signed_heads;
DROP TABLE sign_offs;
