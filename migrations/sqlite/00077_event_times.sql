-- Which things have an event since a moment, for lists of what has changed.

-- +goose Up
CREATE INDEX events_by_time ON events (recorded_at, subject);

-- +goose Down
DROP INDEX events_by_time;
