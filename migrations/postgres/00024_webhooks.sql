-- Addresses of other software that is told of events, and what it is told.

-- +goose Up
CREATE TABLE webhooks (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    url text COLLATE "C" NOT NULL,
    -- JSON list of kinds of events; empty for all.
    kinds text COLLATE "C" NOT NULL,
    secret text COLLATE "C" NOT NULL,
    -- Signs as well until old_until.
    old_secret text COLLATE "C",
    old_until bigint,
    created_by text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    revision bigint NOT NULL,
    -- The number of the last event that was dealt with.
    position bigint NOT NULL,
    failing_since bigint,
    failures bigint NOT NULL,
    hold_until bigint,
    disabled_at bigint,
    disabled text COLLATE "C" NOT NULL,
    -- Until when a process works on it; 0 when none does.
    leased_until bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK ((disabled_at IS NULL) = (disabled = ''))
);

CREATE TABLE webhook_deliveries (
    academy_id text COLLATE "C" NOT NULL,
    webhook_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    -- The number in the log; 0 for a try that an owner asked for.
    event bigint NOT NULL,
    kind text COLLATE "C" NOT NULL,
    subject_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C",
    at bigint NOT NULL,
    state text COLLATE "C" NOT NULL,
    attempts bigint NOT NULL,
    due_at bigint NOT NULL,
    first_at bigint,
    last_at bigint,
    status bigint NOT NULL,
    failure text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, webhook_id, id),
    FOREIGN KEY (academy_id, webhook_id) REFERENCES webhooks (academy_id, id),
    CHECK (id <> ''),
    CHECK (state IN ('waiting', 'delivered', 'failed'))
);
-- An event is on its way to an endpoint once.
CREATE UNIQUE INDEX webhook_deliveries_event ON webhook_deliveries (academy_id, webhook_id, event) WHERE event > 0;
CREATE INDEX webhook_deliveries_due ON webhook_deliveries (academy_id, webhook_id, state, due_at, event);
CREATE INDEX webhook_deliveries_last ON webhook_deliveries (academy_id, webhook_id, last_at);

-- +goose Down
DROP TABLE webhook_deliveries;
DROP TABLE webhooks;
