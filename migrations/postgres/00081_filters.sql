-- Every filter of a list finds its rows by an index, in the order of the list: what
-- matches few of twenty thousand rolls is not looked for among all of them.

-- +goose Up
CREATE INDEX roll_states_stage ON roll_states (stage, number);
CREATE INDEX roll_states_role ON roll_states (role, number);
CREATE INDEX roll_states_of_mill ON roll_states (mill, number);
CREATE INDEX roll_states_held ON roll_states (number) WHERE held;
CREATE INDEX sets_of_mill ON sets (mill, name) WHERE broken_at IS NULL;
CREATE INDEX sets_of_role ON sets (role, name) WHERE broken_at IS NULL;

-- +goose Down
DROP INDEX sets_of_role;
DROP INDEX sets_of_mill;
DROP INDEX roll_states_held;
DROP INDEX roll_states_of_mill;
DROP INDEX roll_states_role;
DROP INDEX roll_states_stage;
