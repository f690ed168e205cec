-- The reasons to look at a student that the log has told of.

-- +goose Up
CREATE TABLE told_reasons (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    -- Empty for a reason that is about no skill.
    skill_id text COLLATE "C" NOT NULL,
    reason text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, reason),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
);

-- +goose Down
DROP TABLE told_reasons;
