-- Lessons, and the photos and clips of them, which are kept in parts so that none is
-- ever whole in memory. A junior's guardian agrees to them by themselves.

-- +goose Up
ALTER TABLE members ADD COLUMN media_at bigint;

CREATE TABLE lessons (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    -- Who gives it.
    coach_id text COLLATE "C" NOT NULL,
    starts_at bigint NOT NULL,
    minutes bigint NOT NULL,
    cue text COLLATE "C" NOT NULL,
    drill text COLLATE "C" NOT NULL,
    -- For coaches alone.
    notes text COLLATE "C" NOT NULL,
    revision bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, coach_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (minutes >= 1),
    CHECK (revision >= 1)
);
CREATE INDEX lessons_of_student ON lessons (academy_id, student_id, starts_at, id);
CREATE INDEX lessons_by_time ON lessons (academy_id, starts_at, id);

CREATE TABLE lesson_media (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    lesson_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    type text COLLATE "C" NOT NULL,
    size bigint NOT NULL,
    -- The last day on which it is kept, in the student's time zone.
    keep_until text COLLATE "C" NOT NULL,
    by_id text COLLATE "C",
    added_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, lesson_id) REFERENCES lessons (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (keep_until <> ''),
    CHECK (size >= 1)
);
CREATE INDEX lesson_media_of_lesson ON lesson_media (academy_id, lesson_id, id);
CREATE INDEX lesson_media_due ON lesson_media (academy_id, keep_until);

CREATE TABLE lesson_parts (
    academy_id text COLLATE "C" NOT NULL,
    media_id text COLLATE "C" NOT NULL,
    -- Counts from 0.
    part bigint NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    data bytea NOT NULL,
    PRIMARY KEY (academy_id, media_id, part),
    FOREIGN KEY (academy_id, media_id) REFERENCES lesson_media (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
);

-- +goose Down
DROP TABLE lesson_parts;
DROP TABLE lesson_media;
DROP TABLE lessons;
ALTER TABLE members DROP COLUMN media_at;
