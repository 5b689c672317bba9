-- One row that the service writes to see whether it can; it holds nothing.
-- Keep names, order and nullability of the columns the same as in ../sqlite.

-- +goose Up
CREATE TABLE probes (
    id     BIGINT NOT NULL PRIMARY KEY,
    filler BYTEA  NOT NULL
);
ALTER TABLE probes ALTER COLUMN filler SET STORAGE EXTERNAL;

-- +goose Down
DROP TABLE probes;
