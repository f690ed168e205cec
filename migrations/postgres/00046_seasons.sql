-- Each student's goal, competitions and off-season.

-- +goose Up
CREATE TABLE seasons (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    doc text COLLATE "C" NOT NULL,
    changed_at bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
);

-- +goose Down
DROP TABLE seasons;
