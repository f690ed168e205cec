-- Secret addresses of students' calendars.

-- +goose Up
CREATE TABLE calendars (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    -- The SHA-256 of the address's token.
    token bytea NOT NULL,
    created_at bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (length(token) = 32)
);
CREATE UNIQUE INDEX calendars_token ON calendars (academy_id, token);

-- +goose Down
DROP TABLE calendars;
