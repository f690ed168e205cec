-- Who withdrew a guardian's consent and when, what else a guardian agreed to, and
-- guardians who wait for the word of a student who is a junior no more.

-- +goose Up
ALTER TABLE members ADD COLUMN consent_ended_at bigint;
ALTER TABLE members ADD COLUMN consent_ended_by text COLLATE "C";
-- Agreed that the report may be shared by links, and that other software may read.
ALTER TABLE members ADD COLUMN reports_at bigint;
ALTER TABLE members ADD COLUMN apps_at bigint;
ALTER TABLE guardianships ADD COLUMN asked_at bigint;

-- +goose Down
ALTER TABLE guardianships DROP COLUMN asked_at;
ALTER TABLE members DROP COLUMN apps_at;
ALTER TABLE members DROP COLUMN reports_at;
ALTER TABLE members DROP COLUMN consent_ended_by;
ALTER TABLE members DROP COLUMN consent_ended_at;
