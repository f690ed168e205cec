-- What a coach writes: skills, programmes, their versions, and the assignments
-- that give a version to a student. Lengths are tenths of a millimetre; dates
-- are ISO 8601 text.

-- +goose Up
CREATE TABLE skills (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    kind TEXT NOT NULL,
    text TEXT NOT NULL,
    ladder TEXT NOT NULL,
    archived_at INTEGER,
    revision INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (id <> ''),
    CHECK (json_valid(ladder)),
    CHECK (revision >= 1)
) STRICT;

CREATE TABLE programmes (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    text TEXT NOT NULL,
    limits TEXT NOT NULL,
    weeks TEXT NOT NULL,
    -- The number of the latest version; 0 before the first.
    published INTEGER NOT NULL,
    archived_at INTEGER,
    revision INTEGER NOT NULL,
    created_by TEXT,
    created_at INTEGER NOT NULL,
    updated_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (json_valid(limits)),
    CHECK (json_valid(weeks)),
    CHECK (published >= 0),
    CHECK (revision >= 1)
) STRICT;

CREATE TABLE versions (
    academy_id TEXT NOT NULL,
    programme_id TEXT NOT NULL,
    number INTEGER NOT NULL,
    name TEXT NOT NULL,
    text TEXT NOT NULL,
    limits TEXT NOT NULL,
    weeks TEXT NOT NULL,
    -- The skills as they were at publication, ladders included.
    skills TEXT NOT NULL,
    published_at INTEGER NOT NULL,
    published_by TEXT,
    PRIMARY KEY (academy_id, programme_id, number),
    FOREIGN KEY (academy_id, programme_id) REFERENCES programmes (academy_id, id),
    FOREIGN KEY (academy_id, published_by) REFERENCES members (academy_id, id),
    CHECK (number >= 1),
    CHECK (json_valid(limits)),
    CHECK (json_valid(weeks)),
    CHECK (json_valid(skills))
) STRICT;

CREATE TABLE assignments (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    programme_id TEXT NOT NULL,
    version INTEGER NOT NULL,
    start_date TEXT NOT NULL,
    pauses TEXT NOT NULL,
    ended_at INTEGER,
    -- Counts the sessions that stand; kept as sessions come and go.
    sessions INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    created_by TEXT,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, programme_id, version) REFERENCES versions (academy_id, programme_id, number),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (json_valid(pauses)),
    CHECK (sessions >= 0),
    CHECK (revision >= 1)
) STRICT;
CREATE UNIQUE INDEX assignments_student ON assignments (academy_id, student_id, id);
-- A student has a programme at most once at a time.
CREATE UNIQUE INDEX assignments_standing ON assignments (academy_id, student_id, programme_id) WHERE ended_at IS NULL;
CREATE INDEX assignments_programme ON assignments (academy_id, programme_id, id);

-- +goose Down
DROP TABLE assignments;
DROP TABLE versions;
DROP TABLE programmes;
DROP TABLE skills;
