-- The reasons to look at a student that the log has told of.

-- +goose Up
CREATE TABLE told_reasons (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    -- Empty for a reason that is about no skill.
    skill_id TEXT NOT NULL,
    reason TEXT NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, reason),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE told_reasons;
