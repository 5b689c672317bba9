-- A roll change that was recorded wrongly is undone: it stays in the register,
-- with who undid it and why. What was stated with a change is kept, so that it
-- can be taken back.

-- +goose Up
ALTER TABLE changes ADD COLUMN stated_t REAL NOT NULL DEFAULT 0;
ALTER TABLE changes ADD COLUMN stated_km REAL NOT NULL DEFAULT 0;
ALTER TABLE changes ADD COLUMN stated_kn_per_mm REAL NOT NULL DEFAULT 0;
ALTER TABLE changes ADD COLUMN undone_at INTEGER;
ALTER TABLE changes ADD COLUMN undone_by TEXT NOT NULL DEFAULT '';
ALTER TABLE changes ADD COLUMN undone_why TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE changes DROP COLUMN undone_why;
ALTER TABLE changes DROP COLUMN undone_by;
ALTER TABLE changes DROP COLUMN undone_at;
ALTER TABLE changes DROP COLUMN stated_kn_per_mm;
ALTER TABLE changes DROP COLUMN stated_km;
ALTER TABLE changes DROP COLUMN stated_t;
