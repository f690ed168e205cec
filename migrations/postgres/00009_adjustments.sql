-- A coach's changes for one student on top of a version.

-- +goose Up
CREATE TABLE adjustments (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    assignment_id text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL CHECK (kind IN ('step', 'radius', 'distance', 'shares', 'earlier_skill', 'sessions')),
    skill_id text COLLATE "C",
    -- What changes, as its kind says.
    doc text COLLATE "C" NOT NULL,
    -- The first day, and the last one or empty, in the student's time zone.
    from_date text COLLATE "C" NOT NULL,
    until_date text COLLATE "C" NOT NULL,
    text text COLLATE "C" NOT NULL,
    reason text COLLATE "C" NOT NULL,
    revision bigint NOT NULL,
    created_by text COLLATE "C",
    created_at bigint NOT NULL,
    ended_by text COLLATE "C",
    ended_at bigint,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, assignment_id) REFERENCES assignments (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, ended_by) REFERENCES members (academy_id, id)
);
CREATE INDEX adjustments_by_student ON adjustments (academy_id, student_id, id);
CREATE INDEX adjustments_by_assignment ON adjustments (academy_id, assignment_id, id);

-- +goose Down
DROP TABLE adjustments;
