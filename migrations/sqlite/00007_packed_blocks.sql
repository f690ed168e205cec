-- The blocks of a session are read and written together, and are kept so: packed
-- in one value, as packBlocks in repo/blocks.go describes it.

-- +goose Up
ALTER TABLE sessions ADD COLUMN blocks BLOB NOT NULL DEFAULT x'';
UPDATE sessions SET blocks = unhex('01' || (
    SELECT group_concat(
        printf('%08X%08X%08X%08X%08X%08X%08X', b.plan_block, b.radius, b.seconds, b.planned, b.balls, b.inside, b.holed)
        || CASE WHEN b.attested_balls IS NULL THEN '00'
           ELSE printf('01%08X%08X%08X%08X', b.attested_balls, b.attested_inside, b.attested_holed, b.attested_best) END
        || printf('%08X', octet_length(b.kind)) || hex(b.kind)
        || printf('%08X', octet_length(b.skill_id)) || hex(b.skill_id)
        || printf('%08X', octet_length(b.packed)) || hex(b.packed),
        '' ORDER BY b.position)
    FROM session_blocks b WHERE b.academy_id = sessions.academy_id AND b.session_id = sessions.id))
WHERE EXISTS (SELECT 1 FROM session_blocks b WHERE b.academy_id = sessions.academy_id AND b.session_id = sessions.id);
DROP TABLE session_blocks;

-- +goose Down
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
) STRICT, WITHOUT ROWID;
ALTER TABLE sessions DROP COLUMN blocks;
