-- One row that the service writes to see whether it can; it holds nothing.
-- Keep names, order and nullability of the columns the same as in ../postgres.

-- +goose Up
CREATE TABLE probes (
    id     INTEGER NOT NULL PRIMARY KEY,
    filler BLOB    NOT NULL
) STRICT;

-- +goose Down
DROP TABLE probes;
