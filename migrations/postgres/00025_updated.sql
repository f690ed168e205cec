-- When what other software polls was last changed: at the last event about it.

-- +goose Up
ALTER TABLE members ADD COLUMN updated_at bigint NOT NULL DEFAULT 0;
UPDATE members SET updated_at = joined_at;
UPDATE members SET updated_at = l.at FROM (SELECT e.academy_id, e.subject_id, MAX(e.at) AS at FROM events e WHERE e.kind LIKE 'member.%' OR e.kind LIKE 'consent.%' GROUP BY e.academy_id, e.subject_id) AS l
    WHERE l.academy_id = members.academy_id AND l.subject_id = members.id;
CREATE INDEX members_updated ON members (academy_id, updated_at);
ALTER TABLE assignments ADD COLUMN updated_at bigint NOT NULL DEFAULT 0;
UPDATE assignments SET updated_at = created_at;
UPDATE assignments SET updated_at = l.at FROM (SELECT e.academy_id, e.subject_id, MAX(e.at) AS at FROM events e WHERE e.kind LIKE 'assignment.%' GROUP BY e.academy_id, e.subject_id) AS l
    WHERE l.academy_id = assignments.academy_id AND l.subject_id = assignments.id;
CREATE INDEX assignments_updated ON assignments (academy_id, updated_at);
CREATE INDEX programmes_updated ON programmes (academy_id, updated_at);

-- +goose Down
DROP INDEX programmes_updated;
DROP INDEX assignments_updated;
ALTER TABLE assignments DROP COLUMN updated_at;
DROP INDEX members_updated;
ALTER TABLE members DROP COLUMN updated_at;
