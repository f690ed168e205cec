-- How many places a session played out on a green.

-- +goose Up
ALTER TABLE sessions ADD COLUMN places bigint NOT NULL DEFAULT 0;
CREATE INDEX sessions_places ON sessions (academy_id, student_id, started_at, id) WHERE places > 0;

-- +goose Down
DROP INDEX sessions_places;
ALTER TABLE sessions DROP COLUMN places;
