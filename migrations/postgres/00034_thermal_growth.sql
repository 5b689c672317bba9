-- The growth of a roll along its barrel, as cosines, in place of one crown. A roll
-- that was warm by the old figure is taken as cold until its next piece: it would
-- be within some hours anyway.

-- +goose Up
ALTER TABLE roll_damage ADD COLUMN thermal_growth BYTEA NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE roll_damage DROP COLUMN thermal_growth;
