-- Mail: which addresses their owners have shown to be theirs, and what waits to be
-- sent.

-- +goose Up
ALTER TABLE accounts ADD COLUMN verified_at INTEGER;

CREATE TABLE letters (
    id TEXT NOT NULL,
    doc TEXT NOT NULL,
    -- When it is tried next, and how often it was.
    due_at INTEGER NOT NULL,
    tries INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    PRIMARY KEY (id),
    CHECK (id <> ''),
    CHECK (tries >= 0)
) STRICT;
CREATE INDEX letters_due ON letters (due_at, id);

-- +goose Down
DROP TABLE letters;
ALTER TABLE accounts DROP COLUMN verified_at;
