-- Answers to requests that were sent with an Idempotency-Key, for a day. They are
-- encrypted with the client's key, of which only a digest is kept.

-- +goose Up
CREATE TABLE answers (
    academy_id text COLLATE "C" NOT NULL,
    asker_id text COLLATE "C" NOT NULL,
    key bytea NOT NULL,
    request bytea NOT NULL,
    answer bytea NOT NULL,
    expires_at bigint NOT NULL,
    PRIMARY KEY (academy_id, asker_id, key),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (octet_length(key) = 32),
    CHECK (octet_length(request) = 32)
);
CREATE INDEX answers_expires ON answers (expires_at);

-- +goose Down
DROP TABLE answers;
