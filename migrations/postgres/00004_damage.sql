-- Contact fatigue of each roll, as pieces and grinds have left it. Damage is
-- stations × layers numbers of 8 bytes, least significant byte first; its
-- surface is that of the diameter in diameter_um.
-- Keep names, order and nullability of the columns the same as in ../sqlite.

-- +goose Up
CREATE TABLE roll_damage (
    roll       TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    diameter_um BIGINT NOT NULL,
    stations   BIGINT NOT NULL CHECK (stations > 0),
    layers     BIGINT NOT NULL CHECK (layers > 0),
    layer_mm   DOUBLE PRECISION NOT NULL CHECK (layer_mm > 0),
    off_mm     DOUBLE PRECISION NOT NULL CHECK (off_mm >= 0),
    damage     BYTEA  NOT NULL CHECK (length(damage) = 8 * stations * layers),
    thermal_um DOUBLE PRECISION NOT NULL,
    thermal_at BIGINT
);
-- Every piece writes it whole; compressing it costs more than it saves.
ALTER TABLE roll_damage ALTER COLUMN damage SET STORAGE EXTERNAL;

-- +goose Down
DROP TABLE roll_damage;
