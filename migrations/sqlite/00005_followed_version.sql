-- The programme's version that a session followed; 0 without a programme.

-- +goose Up
ALTER TABLE sessions ADD COLUMN version INTEGER NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE sessions DROP COLUMN version;
