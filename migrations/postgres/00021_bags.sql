-- Each student's own clubs and which way round they play.

-- +goose Up
CREATE TABLE bags (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    doc text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
);

-- +goose Down
DROP TABLE bags;
