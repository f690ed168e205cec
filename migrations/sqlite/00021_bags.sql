-- Each student's own clubs and which way round they play.

-- +goose Up
CREATE TABLE bags (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    doc TEXT NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE bags;
