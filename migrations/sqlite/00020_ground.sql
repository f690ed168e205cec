-- What a session says of the green, and of where balls landed and stopped on it; NULL
-- for nothing.

-- +goose Up
ALTER TABLE sessions ADD COLUMN ground TEXT;
CREATE INDEX sessions_ground ON sessions (academy_id, student_id, started_at, id) WHERE ground IS NOT NULL;

-- +goose Down
DROP INDEX sessions_ground;
ALTER TABLE sessions DROP COLUMN ground;
