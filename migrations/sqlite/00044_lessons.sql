-- Lessons, and the photos and clips of them, which are kept in parts so that none is
-- ever whole in memory. A junior's guardian agrees to them by themselves.

-- +goose Up
ALTER TABLE members ADD COLUMN media_at INTEGER;

CREATE TABLE lessons (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    -- Who gives it.
    coach_id TEXT NOT NULL,
    starts_at INTEGER NOT NULL,
    minutes INTEGER NOT NULL,
    cue TEXT NOT NULL,
    drill TEXT NOT NULL,
    -- For coaches alone.
    notes TEXT NOT NULL,
    revision INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, coach_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (minutes >= 1),
    CHECK (revision >= 1)
) STRICT;
CREATE INDEX lessons_of_student ON lessons (academy_id, student_id, starts_at, id);
CREATE INDEX lessons_by_time ON lessons (academy_id, starts_at, id);

CREATE TABLE lesson_media (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    lesson_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    type TEXT NOT NULL,
    size INTEGER NOT NULL,
    -- The last day on which it is kept, in the student's time zone.
    keep_until TEXT NOT NULL,
    by_id TEXT,
    added_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, lesson_id) REFERENCES lessons (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (keep_until <> ''),
    CHECK (size >= 1)
) STRICT;
CREATE INDEX lesson_media_of_lesson ON lesson_media (academy_id, lesson_id, id);
CREATE INDEX lesson_media_due ON lesson_media (academy_id, keep_until);

CREATE TABLE lesson_parts (
    academy_id TEXT NOT NULL,
    media_id TEXT NOT NULL,
    -- Counts from 0.
    part INTEGER NOT NULL,
    student_id TEXT NOT NULL,
    data BLOB NOT NULL,
    PRIMARY KEY (academy_id, media_id, part),
    FOREIGN KEY (academy_id, media_id) REFERENCES lesson_media (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
) STRICT;

-- +goose Down
DROP TABLE lesson_parts;
DROP TABLE lesson_media;
DROP TABLE lessons;
ALTER TABLE members DROP COLUMN media_at;
