-- Tokens of some mills, whose secret can be changed, and that say when they were
-- last used; and what each line of the audit was about, as data.

-- +goose Up
ALTER TABLE tokens ADD COLUMN mills TEXT NOT NULL DEFAULT '';
ALTER TABLE tokens ADD COLUMN rotated_at BIGINT;
ALTER TABLE tokens ADD COLUMN previous_hash TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE tokens ADD COLUMN previous_until BIGINT;
ALTER TABLE tokens ADD COLUMN used_at BIGINT;
CREATE INDEX tokens_previous ON tokens (previous_hash) WHERE previous_hash <> '';
ALTER TABLE audit ADD COLUMN role TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE audit ADD COLUMN operation TEXT COLLATE "C" NOT NULL DEFAULT '';
ALTER TABLE audit ADD COLUMN subjects TEXT NOT NULL DEFAULT '';
CREATE INDEX audit_of_actor ON audit (actor, id);
CREATE INDEX audit_of_operation ON audit (operation, id);

-- +goose Down
DROP INDEX audit_of_operation;
DROP INDEX audit_of_actor;
ALTER TABLE audit DROP COLUMN subjects;
ALTER TABLE audit DROP COLUMN operation;
ALTER TABLE audit DROP COLUMN role;
DROP INDEX tokens_previous;
ALTER TABLE tokens DROP COLUMN used_at;
ALTER TABLE tokens DROP COLUMN previous_until;
ALTER TABLE tokens DROP COLUMN previous_hash;
ALTER TABLE tokens DROP COLUMN rotated_at;
ALTER TABLE tokens DROP COLUMN mills;
