-- An incident that was recorded wrongly stays in the register, marked.

-- +goose Up
ALTER TABLE incidents ADD COLUMN undone_at INTEGER;
ALTER TABLE incidents ADD COLUMN undone_by TEXT NOT NULL DEFAULT '';
ALTER TABLE incidents ADD COLUMN undone_why TEXT NOT NULL DEFAULT '';

-- +goose Down
ALTER TABLE incidents DROP COLUMN undone_why;
ALTER TABLE incidents DROP COLUMN undone_by;
ALTER TABLE incidents DROP COLUMN undone_at;
