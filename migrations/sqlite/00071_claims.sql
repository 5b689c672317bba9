-- Claims on suppliers, one for a roll. The doc holds the claim as it stands.

-- +goose Up
CREATE TABLE claims (
    name    TEXT    NOT NULL PRIMARY KEY,
    roll    TEXT    NOT NULL,
    made_at INTEGER NOT NULL,
    settled INTEGER NOT NULL CHECK (settled IN (0, 1)),
    doc     TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version > 0)
) STRICT;
CREATE INDEX claims_newest ON claims (made_at, name);
CREATE INDEX claims_of_roll ON claims (roll, made_at, name);

-- +goose Down
DROP TABLE claims;
