-- A programme given to whoever accepts an invitation, and which weeks of earlier
-- versions count for which of the version that an assignment pins.

-- +goose Up
CREATE TABLE invitation_programmes (
    academy_id TEXT NOT NULL,
    invitation_id TEXT NOT NULL,
    programme_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    -- The first day of week 1, in the student's time zone.
    start_date TEXT NOT NULL,
    PRIMARY KEY (academy_id, invitation_id),
    FOREIGN KEY (academy_id, invitation_id) REFERENCES invitations (academy_id, id),
    FOREIGN KEY (academy_id, programme_id, version) REFERENCES versions (academy_id, programme_id, number),
    CHECK (start_date <> '')
) STRICT, WITHOUT ROWID;

ALTER TABLE assignments ADD COLUMN credits TEXT NOT NULL DEFAULT '[]' CHECK (json_valid(credits));

-- +goose Down
ALTER TABLE assignments DROP COLUMN credits;
DROP TABLE invitation_programmes;
