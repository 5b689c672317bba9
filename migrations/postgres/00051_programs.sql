-- Which program has written here, each time another one did, and the last stay in a
-- stand before it: what was reckoned for later ones was reckoned by its formulas.

-- +goose Up
CREATE TABLE programs (
    number         BIGINT NOT NULL PRIMARY KEY,
    revision       TEXT   NOT NULL,
    after_mounting BIGINT NOT NULL
);

-- +goose Down
DROP TABLE programs;
