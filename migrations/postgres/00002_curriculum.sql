-- What a coach writes: skills, programmes, their versions, and the assignments
-- that give a version to a student. Lengths are tenths of a millimetre; dates
-- are ISO 8601 text.

-- +goose Up
CREATE TABLE skills (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL,
    text text COLLATE "C" NOT NULL,
    ladder json NOT NULL,
    archived_at bigint,
    revision bigint NOT NULL,
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (id <> ''),
    CHECK (revision >= 1)
);

CREATE TABLE programmes (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    text text COLLATE "C" NOT NULL,
    limits json NOT NULL,
    weeks json NOT NULL,
    -- The number of the latest version; 0 before the first.
    published bigint NOT NULL,
    archived_at bigint,
    revision bigint NOT NULL,
    created_by text COLLATE "C",
    created_at bigint NOT NULL,
    updated_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (published >= 0),
    CHECK (revision >= 1)
);

CREATE TABLE versions (
    academy_id text COLLATE "C" NOT NULL,
    programme_id text COLLATE "C" NOT NULL,
    number bigint NOT NULL,
    name text COLLATE "C" NOT NULL,
    text text COLLATE "C" NOT NULL,
    limits json NOT NULL,
    weeks json NOT NULL,
    -- The skills as they were at publication, ladders included.
    skills json NOT NULL,
    published_at bigint NOT NULL,
    published_by text COLLATE "C",
    PRIMARY KEY (academy_id, programme_id, number),
    FOREIGN KEY (academy_id, programme_id) REFERENCES programmes (academy_id, id),
    FOREIGN KEY (academy_id, published_by) REFERENCES members (academy_id, id),
    CHECK (number >= 1)
);

CREATE TABLE assignments (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    programme_id text COLLATE "C" NOT NULL,
    version bigint NOT NULL,
    start_date text COLLATE "C" NOT NULL,
    pauses json NOT NULL,
    ended_at bigint,
    -- Counts the sessions that stand; kept as sessions come and go.
    sessions bigint NOT NULL,
    revision bigint NOT NULL,
    created_by text COLLATE "C",
    created_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, programme_id, version) REFERENCES versions (academy_id, programme_id, number),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (sessions >= 0),
    CHECK (revision >= 1)
);
CREATE UNIQUE INDEX assignments_student ON assignments (academy_id, student_id, id);
-- A student has a programme at most once at a time.
CREATE UNIQUE INDEX assignments_standing ON assignments (academy_id, student_id, programme_id) WHERE ended_at IS NULL;
CREATE INDEX assignments_programme ON assignments (academy_id, programme_id, id);

-- +goose Down
DROP TABLE assignments;
DROP TABLE versions;
DROP TABLE programmes;
DROP TABLE skills;
