-- Claims on suppliers, one for a roll. The doc holds the claim as it stands.

-- +goose Up
CREATE TABLE claims (
    name    TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    roll    TEXT COLLATE "C" NOT NULL,
    made_at BIGINT NOT NULL,
    settled BIGINT NOT NULL CHECK (settled IN (0, 1)),
    doc     TEXT NOT NULL,
    version BIGINT NOT NULL CHECK (version > 0)
);
CREATE INDEX claims_newest ON claims (made_at, name);
CREATE INDEX claims_of_roll ON claims (roll, made_at, name);

-- +goose Down
DROP TABLE claims;
