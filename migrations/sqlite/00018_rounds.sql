-- Shots around the green of rounds on the course, and what the latest rounds of each
-- student come to, which follows from them.

-- +goose Up
CREATE TABLE rounds (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    played_at INTEGER NOT NULL,
    time_zone TEXT NOT NULL,
    course TEXT NOT NULL,
    note TEXT NOT NULL,
    -- A list of shots, in order.
    shots TEXT NOT NULL,
    -- Chances of an up and down of which it is known whether they were taken, and
    -- those that were.
    chances INTEGER NOT NULL,
    saved INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    deleted_at INTEGER,
    by_id TEXT,
    received_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (json_valid(shots)),
    CHECK (chances >= saved AND saved >= 0),
    CHECK (revision >= 1)
) STRICT;
CREATE INDEX rounds_standing ON rounds (academy_id, student_id, played_at, id) WHERE deleted_at IS NULL;

CREATE TABLE round_tallies (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    rounds INTEGER NOT NULL,
    chances INTEGER NOT NULL,
    saved INTEGER NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
) STRICT, WITHOUT ROWID;

-- +goose Down
DROP TABLE round_tallies;
DROP TABLE rounds;
