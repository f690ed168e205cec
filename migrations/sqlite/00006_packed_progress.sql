-- What is kept of progress fits on few rows: where a student stands at a skill,
-- what the sessions of each thirty days said, and the habit of practising, each
-- in a packed form of the release's own. It follows from sessions, blocks and
-- tracks, and is made from them when a release with another form starts.

-- +goose Up
-- The form in which the academy's progress is kept; 0 before it was made.
ALTER TABLE academies ADD COLUMN progress_form INTEGER NOT NULL DEFAULT 0;
-- 1 while a session has grown and no event tells of it.
ALTER TABLE sessions ADD COLUMN untold INTEGER NOT NULL DEFAULT 0;
CREATE INDEX sessions_untold ON sessions (received_at) WHERE untold = 1;

DROP TABLE practice_weeks;
DROP TABLE habits;
DROP TABLE milestones;
DROP TABLE states;
DROP TABLE readings;
DROP TABLE digests;

CREATE TABLE states (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    -- What the academy's students teach about each other.
    held INTEGER NOT NULL,
    recent_judged INTEGER NOT NULL,
    recent_inside INTEGER NOT NULL,
    doc BLOB NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (held >= 0 AND recent_judged >= recent_inside AND recent_inside >= 0)
) STRICT, WITHOUT ROWID;

CREATE TABLE skill_periods (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    -- Stretches of thirty days since 1970.
    period INTEGER NOT NULL,
    -- Sessions with balls that count for every tier.
    said INTEGER NOT NULL,
    doc BLOB NOT NULL,
    PRIMARY KEY (academy_id, student_id, skill_id, period),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id),
    CHECK (said >= 0)
) STRICT, WITHOUT ROWID;

CREATE TABLE habits (
    academy_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    sessions INTEGER NOT NULL,
    -- Rises whenever anything kept of the student's practice changes.
    changes INTEGER NOT NULL,
    doc BLOB NOT NULL,
    PRIMARY KEY (academy_id, student_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (sessions >= 0)
) STRICT, WITHOUT ROWID;

-- What was learned last from all the academy's students.
CREATE TABLE priors (
    academy_id TEXT NOT NULL,
    -- Rises whenever the document changes.
    changes INTEGER NOT NULL,
    doc TEXT NOT NULL,
    PRIMARY KEY (academy_id),
    FOREIGN KEY (academy_id) REFERENCES academies (id)
) STRICT;

-- Rows found by their key alone need no second tree for it.
CREATE TABLE keyed_blocks (
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
) STRICT, WITHOUT ROWID;
INSERT INTO keyed_blocks SELECT * FROM session_blocks;
DROP TABLE session_blocks;
ALTER TABLE keyed_blocks RENAME TO session_blocks;

CREATE TABLE keyed_events (
    academy_id TEXT NOT NULL,
    seq INTEGER NOT NULL,
    at INTEGER NOT NULL,
    -- A member, a key, or nobody, who may be gone by now.
    actor_id TEXT,
    kind TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    student_id TEXT,
    data TEXT NOT NULL,
    PRIMARY KEY (academy_id, seq),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (seq >= 1),
    CHECK (json_valid(data))
) STRICT, WITHOUT ROWID;
INSERT INTO keyed_events SELECT * FROM events;
DROP TABLE events;
ALTER TABLE keyed_events RENAME TO events;

-- +goose Down
DROP TABLE priors;
DROP TABLE habits;
DROP TABLE skill_periods;
DROP TABLE states;
DROP INDEX sessions_untold;
ALTER TABLE sessions DROP COLUMN untold;
ALTER TABLE academies DROP COLUMN progress_form;
CREATE TABLE rowid_blocks (
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
INSERT INTO rowid_blocks SELECT * FROM session_blocks;
DROP TABLE session_blocks;
ALTER TABLE rowid_blocks RENAME TO session_blocks;
CREATE TABLE rowid_events (
    academy_id TEXT NOT NULL,
    seq INTEGER NOT NULL,
    at INTEGER NOT NULL,
    -- A member, a key, or nobody, who may be gone by now.
    actor_id TEXT,
    kind TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    student_id TEXT,
    data TEXT NOT NULL,
    PRIMARY KEY (academy_id, seq),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (seq >= 1),
    CHECK (json_valid(data))
) STRICT;
INSERT INTO rowid_events SELECT * FROM events;
DROP TABLE events;
ALTER TABLE rowid_events RENAME TO events;
-- The release before makes these again from the sessions with its rebuild command.
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
