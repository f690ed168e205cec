-- Mail: which addresses their owners have shown to be theirs, and what waits to be
-- sent.

-- +goose Up
ALTER TABLE accounts ADD COLUMN verified_at bigint;

CREATE TABLE letters (
    id text COLLATE "C" NOT NULL,
    doc text COLLATE "C" NOT NULL,
    -- When it is tried next, and how often it was.
    due_at bigint NOT NULL,
    tries bigint NOT NULL,
    expires_at bigint NOT NULL,
    PRIMARY KEY (id),
    CHECK (id <> ''),
    CHECK (tries >= 0)
);
CREATE INDEX letters_due ON letters (due_at, id);

-- +goose Down
DROP TABLE letters;
ALTER TABLE accounts DROP COLUMN verified_at;
