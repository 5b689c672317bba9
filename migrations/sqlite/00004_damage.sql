-- Contact fatigue of each roll, as pieces and grinds have left it. Damage is
-- stations × layers numbers of 8 bytes, least significant byte first; its
-- surface is that of the diameter in diameter_um.
-- Keep names, order and nullability of the columns the same as in ../postgres.

-- +goose Up
CREATE TABLE roll_damage (
    roll       TEXT    NOT NULL PRIMARY KEY,
    diameter_um INTEGER NOT NULL,
    stations   INTEGER NOT NULL CHECK (stations > 0),
    layers     INTEGER NOT NULL CHECK (layers > 0),
    layer_mm   REAL    NOT NULL CHECK (layer_mm > 0),
    off_mm     REAL    NOT NULL CHECK (off_mm >= 0),
    damage     BLOB    NOT NULL CHECK (length(damage) = 8 * stations * layers),
    thermal_um REAL    NOT NULL,
    thermal_at INTEGER
) STRICT;

-- +goose Down
DROP TABLE roll_damage;
