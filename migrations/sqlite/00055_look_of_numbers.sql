-- What a roll's number looks like, as spelling.Look gives it, so that a double
-- is found among tens of thousands while one more is received.

-- +goose Up
CREATE INDEX roll_states_look ON roll_states (REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(REPLACE(LOWER(number), 'o', '0'), 'i', '1'), 'l', '1'), 's', '5'), 'b', '8'), 'z', '2'), '-', ''), '_', ''), '.', ''));

-- +goose Down
DROP INDEX roll_states_look;
