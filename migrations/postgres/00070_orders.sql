-- Rolls on order until they have come. The doc holds the order as it stands.

-- +goose Up
CREATE TABLE orders (
    name       TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    mill       TEXT COLLATE "C" NOT NULL REFERENCES mills (name),
    due_at     BIGINT NOT NULL,
    to_come    BIGINT NOT NULL CHECK (to_come >= 0),
    doc        TEXT NOT NULL,
    version    BIGINT NOT NULL CHECK (version > 0)
);
CREATE INDEX orders_due ON orders (due_at, name);
CREATE INDEX orders_open ON orders (mill, due_at, name) WHERE to_come > 0;

-- +goose Down
DROP TABLE orders;
