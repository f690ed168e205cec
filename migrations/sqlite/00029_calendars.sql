-- Secret addresses of students' calendars.

-- +goose Up
CREATE TABLE calendars (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    -- The SHA-256 of the address's token.
    token BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (length(token) = 32)
) STRICT;
CREATE UNIQUE INDEX calendars_token ON calendars (academy_id, token);

-- +goose Down
DROP TABLE calendars;
