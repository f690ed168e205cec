-- What students, guardians and coaches say about quiet tests: one row for each word,
-- since what is compared are the tests that were begun while both sides agreed.

-- +goose Up
CREATE TABLE quiet_words (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    at INTEGER NOT NULL,
    side TEXT NOT NULL,
    agrees INTEGER NOT NULL,
    by_id TEXT NOT NULL,
    PRIMARY KEY (academy_id, student_id, at, side),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (side IN ('coach', 'student', 'guardian')),
    CHECK (agrees IN (0, 1))
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE quiet_words;
