-- What a session was played on, which version of its plan was played, and the match
-- whose cards were played; NULL for a green, the plan as it stands, and no match.

-- +goose Up
ALTER TABLE sessions ADD COLUMN surface text COLLATE "C" CHECK (surface IN ('green', 'mat', 'carpet', 'garden'));
ALTER TABLE sessions ADD COLUMN variant text COLLATE "C" CHECK (variant IN ('short', 'one_ball', 'closed_green', 'rain'));
ALTER TABLE sessions ADD COLUMN match_id text COLLATE "C";

-- +goose Down
ALTER TABLE sessions DROP COLUMN match_id;
ALTER TABLE sessions DROP COLUMN variant;
ALTER TABLE sessions DROP COLUMN surface;
