-- By which rules a roll's projection was read out of its book. Those of older
-- rules are read anew when the service starts.

-- +goose Up
ALTER TABLE roll_states ADD COLUMN rules INTEGER NOT NULL DEFAULT 0;
CREATE INDEX roll_states_rules ON roll_states (rules, number);

-- +goose Down
DROP INDEX roll_states_rules;
ALTER TABLE roll_states DROP COLUMN rules;
