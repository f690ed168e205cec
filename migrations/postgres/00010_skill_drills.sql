-- What new blocks of a skill take, by kind of block; what is left out is usual
-- for the sort of shot.

-- +goose Up
ALTER TABLE skills ADD COLUMN drills json NOT NULL DEFAULT '[]';

-- +goose Down
ALTER TABLE skills DROP COLUMN drills;
