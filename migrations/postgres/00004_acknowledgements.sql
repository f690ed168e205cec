-- A coach's word that a reason to look at a student is seen.

-- +goose Up
CREATE TABLE acknowledgements (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    -- Empty for a reason that is about no skill in particular.
    skill_id text COLLATE "C" NOT NULL,
    reason text COLLATE "C" NOT NULL,
    -- The last day of the silence, in the student's time zone.
    until text COLLATE "C" NOT NULL,
    note text COLLATE "C" NOT NULL,
    by_id text COLLATE "C",
    at bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, reason),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (reason <> '')
);

-- +goose Down
DROP TABLE acknowledgements;
