-- 1 for a session that counts as one of its plan's; filled in when progress is
-- made anew.

-- +goose Up
ALTER TABLE sessions ADD COLUMN counts bigint NOT NULL DEFAULT 0;

-- +goose Down
ALTER TABLE sessions DROP COLUMN counts;
