-- What new blocks of a skill take, by kind of block; what is left out is usual
-- for the sort of shot.

-- +goose Up
ALTER TABLE skills ADD COLUMN drills TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(drills));

-- +goose Down
ALTER TABLE skills DROP COLUMN drills;
