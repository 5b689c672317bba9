-- The damage and the heat that a roll took into its latest stays in stands, so that
-- a record that comes late is booked again from there and not from the first piece
-- the roll ever bore. Few are kept of each roll; without one the pieces tell it.

-- +goose Up
CREATE TABLE stay_damage (
    mounting       BIGINT           NOT NULL PRIMARY KEY,
    roll           TEXT COLLATE "C" NOT NULL,
    diameter_um    BIGINT           NOT NULL,
    stations       BIGINT           NOT NULL CHECK (stations > 0),
    layers         BIGINT           NOT NULL CHECK (layers > 0),
    layer_mm       DOUBLE PRECISION NOT NULL CHECK (layer_mm > 0),
    off_mm         DOUBLE PRECISION NOT NULL CHECK (off_mm >= 0),
    damage         BYTEA            NOT NULL CHECK (length(damage) = 8 * stations * layers),
    thermal_um     DOUBLE PRECISION NOT NULL,
    thermal_growth BYTEA            NOT NULL,
    thermal_at     BIGINT
);
ALTER TABLE stay_damage ALTER COLUMN damage SET STORAGE EXTERNAL;
CREATE INDEX stay_damage_of_roll ON stay_damage (roll, mounting);

-- +goose Down
DROP TABLE stay_damage;
