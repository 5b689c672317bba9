-- Which program has written here, each time another one did, and the last stay in a
-- stand before it: what was reckoned for later ones was reckoned by its formulas.

-- +goose Up
CREATE TABLE programs (
    number         INTEGER NOT NULL PRIMARY KEY,
    revision       TEXT    NOT NULL,
    after_mounting INTEGER NOT NULL
) STRICT;

-- +goose Down
DROP TABLE programs;
