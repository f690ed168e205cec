-- The academy's wanted share of success, and proposals that a coach refused.

-- +goose Up
-- In whole per cent.
ALTER TABLE academies ADD COLUMN challenge bigint NOT NULL DEFAULT 70 CHECK (challenge BETWEEN 50 AND 90);
CREATE TABLE refusals (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    kind text COLLATE "C" NOT NULL CHECK (kind IN ('step', 'radius', 'distance', 'shares', 'earlier_skill', 'sessions')),
    -- The last day on which it is not proposed, in the student's time zone.
    until text COLLATE "C" NOT NULL,
    -- The chances of success that were told.
    chance_now double precision NOT NULL,
    chance_then double precision NOT NULL,
    by_id text COLLATE "C",
    at bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, kind),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id)
);

-- +goose Down
DROP TABLE refusals;
ALTER TABLE academies DROP COLUMN challenge;
