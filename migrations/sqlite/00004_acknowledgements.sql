-- A coach's word that a reason to look at a student is seen.

-- +goose Up
CREATE TABLE acknowledgements (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    -- Empty for a reason that is about no skill in particular.
    skill_id TEXT NOT NULL,
    reason TEXT NOT NULL,
    -- The last day of the silence, in the student's time zone.
    until TEXT NOT NULL,
    note TEXT NOT NULL,
    by_id TEXT,
    at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, reason),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (reason <> '')
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE acknowledgements;
