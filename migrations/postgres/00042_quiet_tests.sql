-- What students, guardians and coaches say about quiet tests: one row for each word,
-- since what is compared are the tests that were begun while both sides agreed.

-- +goose Up
CREATE TABLE quiet_words (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    at bigint NOT NULL,
    side text COLLATE "C" NOT NULL,
    agrees boolean NOT NULL,
    by_id text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, student_id, at, side),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (side IN ('coach', 'student', 'guardian'))
);

-- +goose Down
DROP TABLE quiet_words;
