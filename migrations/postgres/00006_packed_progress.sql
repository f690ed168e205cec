-- What is kept of progress fits on few rows: where a student stands at a skill,
-- what the sessions of each thirty days said, and the habit of practising, each
-- in a packed form of the release's own. It follows from sessions, blocks and
-- tracks, and is made from them when a release with another form starts.

-- +goose Up
-- The form in which the academy's progress is kept; 0 before it was made.
ALTER TABLE academies ADD COLUMN progress_form bigint NOT NULL DEFAULT 0;
-- 1 while a session has grown and no event tells of it.
ALTER TABLE sessions ADD COLUMN untold bigint NOT NULL DEFAULT 0;
CREATE INDEX sessions_untold ON sessions (received_at) WHERE untold = 1;

DROP TABLE practice_weeks;
DROP TABLE habits;
DROP TABLE milestones;
DROP TABLE states;
DROP TABLE readings;
DROP TABLE digests;

CREATE TABLE states (
    academy_id text NOT NULL,
    student_id text NOT NULL,
    skill_id text NOT NULL,
    -- What the academy's students teach about each other.
    held bigint NOT NULL,
    recent_judged bigint NOT NULL,
    recent_inside bigint NOT NULL,
    doc bytea NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (held >= 0 AND recent_judged >= recent_inside AND recent_inside >= 0)
);

CREATE TABLE skill_periods (
    academy_id text NOT NULL,
    student_id text NOT NULL,
    skill_id text NOT NULL,
    -- Stretches of thirty days since 1970.
    period bigint NOT NULL,
    -- Sessions with balls that count for every tier.
    said bigint NOT NULL,
    doc bytea NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, period),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (said >= 0)
);

CREATE TABLE habits (
    academy_id text NOT NULL,
    student_id text NOT NULL,
    sessions bigint NOT NULL,
    -- Rises whenever anything kept of the student's practice changes.
    changes bigint NOT NULL,
    doc bytea NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (sessions >= 0)
);

-- What was learned last from all the academy's students.
CREATE TABLE priors (
    academy_id text NOT NULL,
    -- Rises whenever the document changes.
    changes bigint NOT NULL,
    doc text NOT NULL,
    PRIMARY KEY (academy_id),
    FOREIGN KEY (academy_id) REFERENCES academies (id)
);

-- +goose Down
DROP TABLE priors;
DROP TABLE habits;
DROP TABLE skill_periods;
DROP TABLE states;
DROP INDEX sessions_untold;
ALTER TABLE sessions DROP COLUMN untold;
ALTER TABLE academies DROP COLUMN progress_form;
-- The release before makes these again from the sessions with its rebuild command.
CREATE TABLE digests (
    academy_id text COLLATE "C" NOT NULL,
    session_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    started_at bigint NOT NULL,
    -- The Monday of the practice week.
    week text COLLATE "C" NOT NULL,
    sessions bigint NOT NULL,
    balls bigint NOT NULL,
    inside bigint NOT NULL,
    holed bigint NOT NULL,
    seconds bigint NOT NULL,
    attested_balls bigint NOT NULL,
    attested_inside bigint NOT NULL,
    attested_holed bigint NOT NULL,
    PRIMARY KEY (academy_id, session_id, skill_id),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (sessions = 1)
);
CREATE INDEX digests_student ON digests (academy_id, student_id, skill_id, started_at);

CREATE TABLE readings (
    academy_id text COLLATE "C" NOT NULL,
    session_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    tier_run bigint NOT NULL,
    tier_radius bigint NOT NULL,
    tier_holed bigint NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    started_at bigint NOT NULL,
    day text COLLATE "C" NOT NULL,
    -- started_at, if the session judged a ball for the tier or met one
    -- unmeasured; it says something about the tier.
    said_at bigint,
    judged bigint NOT NULL,
    inside bigint NOT NULL,
    holed bigint NOT NULL,
    unmeasured bigint NOT NULL,
    best_run bigint NOT NULL,
    best_holed bigint NOT NULL,
    near_runs bigint NOT NULL,
    near_length bigint NOT NULL,
    near_times bigint NOT NULL,
    near_holed bigint NOT NULL,
    chances bigint NOT NULL,
    attained_block bigint,
    attained_ball bigint,
    attained_at bigint,
    PRIMARY KEY (academy_id, session_id, skill_id, tier_run, tier_radius, tier_holed),
    FOREIGN KEY (academy_id, session_id, skill_id) REFERENCES digests (academy_id, session_id, skill_id) ON DELETE CASCADE,
    CHECK ((said_at IS NULL) = (judged + unmeasured = 0)),
    CHECK ((attained_at IS NULL) = (attained_block IS NULL) AND (attained_at IS NULL) = (attained_ball IS NULL))
);
-- The last readings of a tier, the ball that attained it first, the best run.
CREATE INDEX readings_recent ON readings (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed, said_at, session_id) WHERE said_at IS NOT NULL;
CREATE INDEX readings_hits ON readings (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed, attained_at, session_id) WHERE attained_at IS NOT NULL;
CREATE INDEX readings_best ON readings (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed, best_run, best_holed);

CREATE TABLE states (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    ladder json NOT NULL,
    held bigint NOT NULL,
    sessions bigint NOT NULL,
    balls bigint NOT NULL,
    inside bigint NOT NULL,
    holed bigint NOT NULL,
    seconds bigint NOT NULL,
    attested_balls bigint NOT NULL,
    attested_inside bigint NOT NULL,
    attested_holed bigint NOT NULL,
    last_at bigint,
    best_run bigint NOT NULL,
    best_holed bigint NOT NULL,
    near_runs bigint NOT NULL,
    near_length bigint NOT NULL,
    near_times bigint NOT NULL,
    near_holed bigint NOT NULL,
    recent_sessions bigint NOT NULL,
    recent_judged bigint NOT NULL,
    recent_inside bigint NOT NULL,
    recent_unmeasured bigint NOT NULL,
    last_milestone_at bigint,
    assessment json NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (sessions >= 0 AND balls >= 0 AND inside >= 0 AND holed >= 0 AND seconds >= 0)
);

-- Where everybody stands at a skill, for what they teach about each other.
CREATE INDEX states_skill ON states (academy_id, skill_id, held, recent_judged, recent_inside);

CREATE TABLE milestones (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    tier_run bigint NOT NULL,
    tier_radius bigint NOT NULL,
    tier_holed bigint NOT NULL,
    session_id text COLLATE "C" NOT NULL,
    block bigint NOT NULL,
    ball bigint NOT NULL,
    at bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    CHECK (block >= 1 AND ball >= 1)
);
CREATE INDEX milestones_session ON milestones (academy_id, session_id);

CREATE TABLE habits (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    sessions bigint NOT NULL,
    planned bigint NOT NULL,
    starts json NOT NULL,
    times json NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (sessions >= 0)
);

CREATE TABLE practice_weeks (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    week text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    sessions bigint NOT NULL,
    balls bigint NOT NULL,
    inside bigint NOT NULL,
    holed bigint NOT NULL,
    seconds bigint NOT NULL,
    attested_balls bigint NOT NULL,
    attested_inside bigint NOT NULL,
    attested_holed bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id, week, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (sessions >= 0 AND balls >= 0 AND inside >= 0 AND holed >= 0 AND seconds >= 0)
);
