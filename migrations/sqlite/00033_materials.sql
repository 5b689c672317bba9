-- A practice may be for a rolled metal, by the name on its pieces.

-- +goose Up
ALTER TABLE practices ADD COLUMN material TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE practices DROP COLUMN material;
