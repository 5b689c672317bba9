-- Who is sent events: how far each has been told, and when it is tried again. One
-- daemon at a time sends to one of them, for as long as it has leased it. The
-- secret signs what is sent, so it must be kept as it is.

-- +goose Up
CREATE TABLE webhooks (
    name         TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    url          TEXT    NOT NULL,
    secret       TEXT    NOT NULL,
    kinds        TEXT    NOT NULL,
    mill         TEXT COLLATE "C" NOT NULL,
    created_at   BIGINT NOT NULL,
    created_by   TEXT    NOT NULL,
    position     BIGINT NOT NULL,
    position_at  BIGINT NOT NULL,
    tries        BIGINT NOT NULL,
    due_at       BIGINT NOT NULL,
    leased_by    TEXT    NOT NULL,
    leased_until BIGINT NOT NULL,
    sent         BIGINT NOT NULL,
    sent_at      BIGINT,
    failed_at    BIGINT,
    failure      TEXT    NOT NULL,
    stopped_at   BIGINT
);

-- +goose Down
DROP TABLE webhooks;
