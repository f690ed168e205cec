-- Shots around the green of rounds on the course, and what the latest rounds of each
-- student come to, which follows from them.

-- +goose Up
CREATE TABLE rounds (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    played_at bigint NOT NULL,
    time_zone text COLLATE "C" NOT NULL,
    course text COLLATE "C" NOT NULL,
    note text COLLATE "C" NOT NULL,
    -- A list of shots, in order.
    shots json NOT NULL,
    -- Chances of an up and down of which it is known whether they were taken, and
    -- those that were.
    chances bigint NOT NULL,
    saved bigint NOT NULL,
    revision bigint NOT NULL,
    deleted_at bigint,
    by_id text COLLATE "C",
    received_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (chances >= saved AND saved >= 0),
    CHECK (revision >= 1)
);
CREATE INDEX rounds_standing ON rounds (academy_id, student_id, played_at, id) WHERE deleted_at IS NULL;

CREATE TABLE round_tallies (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    rounds bigint NOT NULL,
    chances bigint NOT NULL,
    saved bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
);

-- +goose Down
DROP TABLE round_tallies;
DROP TABLE rounds;
