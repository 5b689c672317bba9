-- The damage and the heat that a roll took into its latest stays in stands, so that
-- a record that comes late is booked again from there and not from the first piece
-- the roll ever bore. Few are kept of each roll; without one the pieces tell it.

-- +goose Up
CREATE TABLE stay_damage (
    mounting       INTEGER NOT NULL PRIMARY KEY,
    roll           TEXT    NOT NULL,
    diameter_um    INTEGER NOT NULL,
    stations       INTEGER NOT NULL CHECK (stations > 0),
    layers         INTEGER NOT NULL CHECK (layers > 0),
    layer_mm       REAL    NOT NULL CHECK (layer_mm > 0),
    off_mm         REAL    NOT NULL CHECK (off_mm >= 0),
    damage         BLOB    NOT NULL CHECK (length(damage) = 8 * stations * layers),
    thermal_um     REAL    NOT NULL,
    thermal_growth BLOB    NOT NULL,
    thermal_at     INTEGER
) STRICT;
CREATE INDEX stay_damage_of_roll ON stay_damage (roll, mounting);

-- +goose Down
DROP TABLE stay_damage;
