-- A programme given to whoever accepts an invitation, and which weeks of earlier
-- versions count for which of the version that an assignment pins.

-- +goose Up
CREATE TABLE invitation_programmes (
    academy_id text COLLATE "C" NOT NULL,
    invitation_id text COLLATE "C" NOT NULL,
    programme_id text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    -- The first day of week 1, in the student's time zone.
    start_date text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, invitation_id),
    FOREIGN KEY (academy_id, invitation_id) REFERENCES invitations (academy_id, id),
    FOREIGN KEY (academy_id, programme_id, version) REFERENCES versions (academy_id, programme_id, number),
    CHECK (start_date <> '')
);

ALTER TABLE assignments ADD COLUMN credits json NOT NULL DEFAULT '[]';

-- +goose Down
ALTER TABLE assignments DROP COLUMN credits;
DROP TABLE invitation_programmes;
