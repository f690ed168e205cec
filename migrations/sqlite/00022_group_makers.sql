-- Who made a group. The log tells of those that were made before; software is nobody.

-- +goose Up
ALTER TABLE student_groups ADD COLUMN by_id TEXT;
UPDATE student_groups SET by_id = (
    SELECT m.id FROM events e JOIN members m ON m.academy_id = e.academy_id AND m.id = e.actor_id
    WHERE e.academy_id = student_groups.academy_id AND e.kind = 'group.created' AND e.subject_id = student_groups.id
);

-- +goose Down
ALTER TABLE student_groups DROP COLUMN by_id;
