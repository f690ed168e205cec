-- Sessions of at most so many minutes, as a coach's change for one student.

-- +goose Up
ALTER TABLE adjustments DROP CONSTRAINT adjustments_kind_check;
ALTER TABLE adjustments ADD CONSTRAINT adjustments_kind_check CHECK (kind IN ('step', 'radius', 'distance', 'shares', 'earlier_skill', 'sessions', 'minutes'));

-- +goose Down
DELETE FROM adjustments WHERE kind = 'minutes';
ALTER TABLE adjustments DROP CONSTRAINT adjustments_kind_check;
ALTER TABLE adjustments ADD CONSTRAINT adjustments_kind_check CHECK (kind IN ('step', 'radius', 'distance', 'shares', 'earlier_skill', 'sessions'));
