-- Each student's goal, competitions and off-season.

-- +goose Up
CREATE TABLE seasons (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    doc TEXT NOT NULL,
    changed_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE seasons;
