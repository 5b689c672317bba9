-- Who is sent events: how far each has been told, and when it is tried again. One
-- daemon at a time sends to one of them, for as long as it has leased it. The
-- secret signs what is sent, so it must be kept as it is.

-- +goose Up
CREATE TABLE webhooks (
    name         TEXT NOT NULL PRIMARY KEY,
    url          TEXT    NOT NULL,
    secret       TEXT    NOT NULL,
    kinds        TEXT    NOT NULL,
    mill         TEXT NOT NULL,
    created_at   INTEGER NOT NULL,
    created_by   TEXT    NOT NULL,
    position     INTEGER NOT NULL,
    position_at  INTEGER NOT NULL,
    tries        INTEGER NOT NULL,
    due_at       INTEGER NOT NULL,
    leased_by    TEXT    NOT NULL,
    leased_until INTEGER NOT NULL,
    sent         INTEGER NOT NULL,
    sent_at      INTEGER,
    failed_at    INTEGER,
    failure      TEXT    NOT NULL,
    stopped_at   INTEGER
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE webhooks;
