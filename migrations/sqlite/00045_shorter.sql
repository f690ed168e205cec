-- Sessions of at most so many minutes, as a coach's change for one student.

-- +goose Up
CREATE TABLE adjustments_new (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    assignment_id TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('step', 'radius', 'distance', 'shares', 'earlier_skill', 'sessions', 'minutes')),
    skill_id TEXT,
    -- What changes, as its kind says.
    doc TEXT NOT NULL,
    -- The first day, and the last one or empty, in the student's time zone.
    from_date TEXT NOT NULL,
    until_date TEXT NOT NULL,
    text TEXT NOT NULL,
    reason TEXT NOT NULL,
    revision INTEGER NOT NULL,
    created_by TEXT,
    created_at INTEGER NOT NULL,
    ended_by TEXT,
    ended_at INTEGER,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, assignment_id) REFERENCES assignments (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, ended_by) REFERENCES members (academy_id, id)
) STRICT;
INSERT INTO adjustments_new (academy_id, id, student_id, assignment_id, kind, skill_id, doc, from_date, until_date, text, reason, revision, created_by, created_at, ended_by, ended_at)
    SELECT academy_id, id, student_id, assignment_id, kind, skill_id, doc, from_date, until_date, text, reason, revision, created_by, created_at, ended_by, ended_at FROM adjustments;
DROP TABLE adjustments;
ALTER TABLE adjustments_new RENAME TO adjustments;
CREATE INDEX adjustments_by_student ON adjustments (academy_id, student_id, id);
CREATE INDEX adjustments_by_assignment ON adjustments (academy_id, assignment_id, id);

-- +goose Down
CREATE TABLE adjustments_new (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    assignment_id TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('step', 'radius', 'distance', 'shares', 'earlier_skill', 'sessions')),
    skill_id TEXT,
    -- What changes, as its kind says.
    doc TEXT NOT NULL,
    -- The first day, and the last one or empty, in the student's time zone.
    from_date TEXT NOT NULL,
    until_date TEXT NOT NULL,
    text TEXT NOT NULL,
    reason TEXT NOT NULL,
    revision INTEGER NOT NULL,
    created_by TEXT,
    created_at INTEGER NOT NULL,
    ended_by TEXT,
    ended_at INTEGER,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, assignment_id) REFERENCES assignments (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, ended_by) REFERENCES members (academy_id, id)
) STRICT;
INSERT INTO adjustments_new (academy_id, id, student_id, assignment_id, kind, skill_id, doc, from_date, until_date, text, reason, revision, created_by, created_at, ended_by, ended_at)
    SELECT academy_id, id, student_id, assignment_id, kind, skill_id, doc, from_date, until_date, text, reason, revision, created_by, created_at, ended_by, ended_at FROM adjustments WHERE kind <> 'minutes';
DROP TABLE adjustments;
ALTER TABLE adjustments_new RENAME TO adjustments;
CREATE INDEX adjustments_by_student ON adjustments (academy_id, student_id, id);
CREATE INDEX adjustments_by_assignment ON adjustments (academy_id, assignment_id, id);
