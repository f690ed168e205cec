-- What students do, and what is kept of it in the same transaction: digests,
-- readings, states, milestones, habits, practice weeks and the assignments'
-- counts can be derived again from sessions, blocks and tracks.

-- +goose Up
CREATE TABLE sessions (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    assignment_id text COLLATE "C",
    week bigint NOT NULL,
    plan bigint NOT NULL,
    time_zone text COLLATE "C" NOT NULL,
    started_at bigint NOT NULL,
    ended_at bigint,
    -- When the session is taken to end: ended_at, or else when the time of its
    -- blocks is up.
    until_at bigint NOT NULL,
    note text COLLATE "C" NOT NULL,
    -- The time that the plan wanted for blocks that were left out, by kind.
    missed json NOT NULL,
    revision bigint NOT NULL,
    deleted_at bigint,
    by_id text COLLATE "C",
    received_at bigint NOT NULL,
    -- The SHA-256 of what the client said.
    fingerprint bytea NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, student_id, assignment_id) REFERENCES assignments (academy_id, student_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (week >= 0 AND plan >= 0),
    CHECK (until_at >= started_at),
    CHECK (revision >= 1),
    CHECK (length(fingerprint) = 32)
);
CREATE INDEX sessions_standing ON sessions (academy_id, student_id, started_at, id) WHERE deleted_at IS NULL;
CREATE INDEX sessions_assignment ON sessions (academy_id, assignment_id, week, plan) WHERE deleted_at IS NULL;

CREATE TABLE session_blocks (
    academy_id text COLLATE "C" NOT NULL,
    session_id text COLLATE "C" NOT NULL,
    position bigint NOT NULL,
    -- 1-based block of the plan; 0 without one.
    plan_block bigint NOT NULL,
    kind text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    radius bigint NOT NULL,
    seconds bigint NOT NULL,
    planned bigint NOT NULL,
    balls bigint NOT NULL,
    inside bigint NOT NULL,
    holed bigint NOT NULL,
    -- Counts from a paper card instead of balls.
    attested_balls bigint,
    attested_inside bigint,
    attested_holed bigint,
    attested_best bigint,
    -- The balls, packed.
    packed bytea NOT NULL,
    PRIMARY KEY (academy_id, session_id, position),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (position >= 1),
    CHECK (balls >= inside AND inside >= holed AND holed >= 0),
    CHECK (attested_balls IS NULL OR balls = 0)
);

CREATE TABLE comments (
    academy_id text COLLATE "C" NOT NULL,
    session_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    author_id text COLLATE "C",
    text text COLLATE "C" NOT NULL,
    at bigint NOT NULL,
    PRIMARY KEY (academy_id, session_id, id),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    FOREIGN KEY (academy_id, author_id) REFERENCES members (academy_id, id),
    CHECK (id <> '')
);

CREATE TABLE tracks (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    ladder json NOT NULL,
    judged json NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id)
);

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

-- +goose Down
DROP TABLE practice_weeks;
DROP TABLE habits;
DROP TABLE milestones;
DROP TABLE states;
DROP TABLE readings;
DROP TABLE digests;
DROP TABLE tracks;
DROP TABLE comments;
DROP TABLE session_blocks;
DROP TABLE sessions;
