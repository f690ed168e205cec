-- What students do, and what is kept of it in the same transaction: digests,
-- readings, states, milestones, habits, practice weeks and the assignments'
-- counts can be derived again from sessions, blocks and tracks.

-- +goose Up
CREATE TABLE sessions (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    assignment_id TEXT,
    week INTEGER NOT NULL,
    plan INTEGER NOT NULL,
    time_zone TEXT NOT NULL,
    started_at INTEGER NOT NULL,
    ended_at INTEGER,
    -- When the session is taken to end: ended_at, or else when the time of its
    -- blocks is up.
    until_at INTEGER NOT NULL,
    note TEXT NOT NULL,
    -- The time that the plan wanted for blocks that were left out, by kind.
    missed TEXT NOT NULL,
    revision INTEGER NOT NULL,
    deleted_at INTEGER,
    by_id TEXT,
    received_at INTEGER NOT NULL,
    -- The SHA-256 of what the client said.
    fingerprint BLOB NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, student_id, assignment_id) REFERENCES assignments (academy_id, student_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (week >= 0 AND plan >= 0),
    CHECK (json_valid(missed)),
    CHECK (until_at >= started_at),
    CHECK (revision >= 1),
    CHECK (length(fingerprint) = 32)
) STRICT;
CREATE INDEX sessions_standing ON sessions (academy_id, student_id, started_at, id) WHERE deleted_at IS NULL;
CREATE INDEX sessions_assignment ON sessions (academy_id, assignment_id, week, plan) WHERE deleted_at IS NULL;

CREATE TABLE session_blocks (
    academy_id TEXT NOT NULL,
    session_id TEXT NOT NULL,
    position INTEGER NOT NULL,
    -- 1-based block of the plan; 0 without one.
    plan_block INTEGER NOT NULL,
    kind TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    radius INTEGER NOT NULL,
    seconds INTEGER NOT NULL,
    planned INTEGER NOT NULL,
    balls INTEGER NOT NULL,
    inside INTEGER NOT NULL,
    holed INTEGER NOT NULL,
    -- Counts from a paper card instead of balls.
    attested_balls INTEGER,
    attested_inside INTEGER,
    attested_holed INTEGER,
    attested_best INTEGER,
    -- The balls, packed.
    packed BLOB NOT NULL,
    PRIMARY KEY (academy_id, session_id, position),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (position >= 1),
    CHECK (balls >= inside AND inside >= holed AND holed >= 0),
    CHECK (attested_balls IS NULL OR balls = 0)
) STRICT;

CREATE TABLE comments (
    academy_id TEXT NOT NULL,
    session_id TEXT NOT NULL,
    id TEXT NOT NULL,
    author_id TEXT,
    text TEXT NOT NULL,
    at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, session_id, id),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    FOREIGN KEY (academy_id, author_id) REFERENCES members (academy_id, id),
    CHECK (id <> '')
) STRICT;

CREATE TABLE tracks (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    ladder TEXT NOT NULL,
    judged TEXT NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (json_valid(ladder)),
    CHECK (json_valid(judged))
) STRICT;

CREATE TABLE digests (
    academy_id TEXT NOT NULL,
    session_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    started_at INTEGER NOT NULL,
    -- The Monday of the practice week.
    week TEXT NOT NULL,
    sessions INTEGER NOT NULL,
    balls INTEGER NOT NULL,
    inside INTEGER NOT NULL,
    holed INTEGER NOT NULL,
    seconds INTEGER NOT NULL,
    attested_balls INTEGER NOT NULL,
    attested_inside INTEGER NOT NULL,
    attested_holed INTEGER NOT NULL,
    PRIMARY KEY (academy_id, session_id, skill_id),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (sessions = 1)
) STRICT, WITHOUT ROWID;
CREATE INDEX digests_student ON digests (academy_id, student_id, skill_id, started_at);

CREATE TABLE readings (
    academy_id TEXT NOT NULL,
    session_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    tier_run INTEGER NOT NULL,
    tier_radius INTEGER NOT NULL,
    tier_holed INTEGER NOT NULL,
    student_id TEXT NOT NULL,
    started_at INTEGER NOT NULL,
    day TEXT NOT NULL,
    -- started_at, if the session judged a ball for the tier or met one
    -- unmeasured; it says something about the tier.
    said_at INTEGER,
    judged INTEGER NOT NULL,
    inside INTEGER NOT NULL,
    holed INTEGER NOT NULL,
    unmeasured INTEGER NOT NULL,
    best_run INTEGER NOT NULL,
    best_holed INTEGER NOT NULL,
    near_runs INTEGER NOT NULL,
    near_length INTEGER NOT NULL,
    near_times INTEGER NOT NULL,
    near_holed INTEGER NOT NULL,
    chances INTEGER NOT NULL,
    attained_block INTEGER,
    attained_ball INTEGER,
    attained_at INTEGER,
    PRIMARY KEY (academy_id, session_id, skill_id, tier_run, tier_radius, tier_holed),
    FOREIGN KEY (academy_id, session_id, skill_id) REFERENCES digests (academy_id, session_id, skill_id) ON DELETE CASCADE,
    CHECK ((said_at IS NULL) = (judged + unmeasured = 0)),
    CHECK ((attained_at IS NULL) = (attained_block IS NULL) AND (attained_at IS NULL) = (attained_ball IS NULL))
) STRICT, WITHOUT ROWID;
-- The last readings of a tier, the ball that attained it first, the best run.
CREATE INDEX readings_recent ON readings (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed, said_at, session_id) WHERE said_at IS NOT NULL;
CREATE INDEX readings_hits ON readings (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed, attained_at, session_id) WHERE attained_at IS NOT NULL;
CREATE INDEX readings_best ON readings (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed, best_run, best_holed);

CREATE TABLE states (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    ladder TEXT NOT NULL,
    held INTEGER NOT NULL,
    sessions INTEGER NOT NULL,
    balls INTEGER NOT NULL,
    inside INTEGER NOT NULL,
    holed INTEGER NOT NULL,
    seconds INTEGER NOT NULL,
    attested_balls INTEGER NOT NULL,
    attested_inside INTEGER NOT NULL,
    attested_holed INTEGER NOT NULL,
    last_at INTEGER,
    best_run INTEGER NOT NULL,
    best_holed INTEGER NOT NULL,
    near_runs INTEGER NOT NULL,
    near_length INTEGER NOT NULL,
    near_times INTEGER NOT NULL,
    near_holed INTEGER NOT NULL,
    recent_sessions INTEGER NOT NULL,
    recent_judged INTEGER NOT NULL,
    recent_inside INTEGER NOT NULL,
    recent_unmeasured INTEGER NOT NULL,
    last_milestone_at INTEGER,
    assessment TEXT NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (json_valid(ladder)),
    CHECK (json_valid(assessment)),
    CHECK (sessions >= 0 AND balls >= 0 AND inside >= 0 AND holed >= 0 AND seconds >= 0)
) STRICT;

-- Where everybody stands at a skill, for what they teach about each other.
CREATE INDEX states_skill ON states (academy_id, skill_id, held, recent_judged, recent_inside);

CREATE TABLE milestones (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    tier_run INTEGER NOT NULL,
    tier_radius INTEGER NOT NULL,
    tier_holed INTEGER NOT NULL,
    session_id TEXT NOT NULL,
    block INTEGER NOT NULL,
    ball INTEGER NOT NULL,
    at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, tier_run, tier_radius, tier_holed),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    FOREIGN KEY (academy_id, session_id) REFERENCES sessions (academy_id, id),
    CHECK (block >= 1 AND ball >= 1)
) STRICT, WITHOUT ROWID;
CREATE INDEX milestones_session ON milestones (academy_id, session_id);

CREATE TABLE habits (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    sessions INTEGER NOT NULL,
    planned INTEGER NOT NULL,
    starts TEXT NOT NULL,
    times TEXT NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (sessions >= 0),
    CHECK (json_valid(starts)),
    CHECK (json_valid(times))
) STRICT;

CREATE TABLE practice_weeks (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    week TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    sessions INTEGER NOT NULL,
    balls INTEGER NOT NULL,
    inside INTEGER NOT NULL,
    holed INTEGER NOT NULL,
    seconds INTEGER NOT NULL,
    attested_balls INTEGER NOT NULL,
    attested_inside INTEGER NOT NULL,
    attested_holed INTEGER NOT NULL,
    PRIMARY KEY (academy_id, student_id, week, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (sessions >= 0 AND balls >= 0 AND inside >= 0 AND holed >= 0 AND seconds >= 0)
) STRICT, WITHOUT ROWID;

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
