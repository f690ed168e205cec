-- 1 where an assignment asks for first tests and end tests; those that were made before
-- do not.

-- +goose Up
ALTER TABLE assignments ADD COLUMN tests INTEGER NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE assignments DROP COLUMN tests;
