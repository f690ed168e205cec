-- A guardian agreed that a junior plays matches, whose balls those in the match see;
-- and the sessions of a match, found by it.

-- +goose Up
ALTER TABLE members ADD COLUMN matches_at INTEGER;
CREATE INDEX sessions_by_match ON sessions (academy_id, match_id, started_at, id) WHERE match_id IS NOT NULL;

-- +goose Down
DROP INDEX sessions_by_match;
ALTER TABLE members DROP COLUMN matches_at;
