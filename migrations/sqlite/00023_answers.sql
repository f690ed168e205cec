-- Answers to requests that were sent with an Idempotency-Key, for a day. They are
-- encrypted with the client's key, of which only a digest is kept.

-- +goose Up
CREATE TABLE answers (
    academy_id TEXT NOT NULL,
    asker_id TEXT NOT NULL,
    key BLOB NOT NULL,
    request BLOB NOT NULL,
    answer BLOB NOT NULL,
    expires_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, asker_id, key),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (length(key) = 32),
    CHECK (length(request) = 32)
) STRICT;
CREATE INDEX answers_expires ON answers (expires_at);

-- +goose Down
DROP TABLE answers;
