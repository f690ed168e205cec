-- The blocks of a session are read and written together, and are kept so: packed
-- in one value, as packBlocks in repo/blocks.go describes it.

-- +goose Up
ALTER TABLE sessions ADD COLUMN blocks bytea NOT NULL DEFAULT '';
UPDATE sessions s SET blocks = '\x01'::bytea || packed.blocks
FROM (
    SELECT b.academy_id, b.session_id, string_agg(
        int4send(b.plan_block::int) || int4send(b.radius::int) || int4send(b.seconds::int) || int4send(b.planned::int)
        || int4send(b.balls::int) || int4send(b.inside::int) || int4send(b.holed::int)
        || CASE WHEN b.attested_balls IS NULL THEN '\x00'::bytea
           ELSE '\x01'::bytea || int4send(b.attested_balls::int) || int4send(b.attested_inside::int)
               || int4send(b.attested_holed::int) || int4send(b.attested_best::int) END
        || int4send(octet_length(b.kind)) || convert_to(b.kind, 'UTF8')
        || int4send(octet_length(b.skill_id)) || convert_to(b.skill_id, 'UTF8')
        || int4send(octet_length(b.packed)) || b.packed,
        ''::bytea ORDER BY b.position) AS blocks
    FROM session_blocks b GROUP BY b.academy_id, b.session_id
) packed
WHERE s.academy_id = packed.academy_id AND s.id = packed.session_id;
DROP TABLE session_blocks;

-- +goose Down
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
ALTER TABLE sessions DROP COLUMN blocks;
