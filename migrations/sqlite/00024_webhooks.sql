-- Addresses of other software that is told of events, and what it is told.

-- +goose Up
CREATE TABLE webhooks (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    url TEXT NOT NULL,
    -- JSON list of kinds of events; empty for all.
    kinds TEXT NOT NULL,
    secret TEXT NOT NULL,
    -- Signs as well until old_until.
    old_secret TEXT,
    old_until INTEGER,
    created_by TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    revision INTEGER NOT NULL,
    -- The number of the last event that was dealt with.
    position INTEGER NOT NULL,
    failing_since INTEGER,
    failures INTEGER NOT NULL,
    hold_until INTEGER,
    disabled_at INTEGER,
    disabled TEXT NOT NULL,
    -- Until when a process works on it; 0 when none does.
    leased_until INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, created_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK ((disabled_at IS NULL) = (disabled = ''))
) STRICT;

CREATE TABLE webhook_deliveries (
    academy_id TEXT NOT NULL,
    webhook_id TEXT NOT NULL,
    id TEXT NOT NULL,
    -- The number in the log; 0 for a try that an owner asked for.
    event INTEGER NOT NULL,
    kind TEXT NOT NULL,
    subject_id TEXT NOT NULL,
    student_id TEXT,
    at INTEGER NOT NULL,
    state TEXT NOT NULL,
    attempts INTEGER NOT NULL,
    due_at INTEGER NOT NULL,
    first_at INTEGER,
    last_at INTEGER,
    status INTEGER NOT NULL,
    failure TEXT NOT NULL,
    PRIMARY KEY (academy_id, webhook_id, id),
    FOREIGN KEY (academy_id, webhook_id) REFERENCES webhooks (academy_id, id),
    CHECK (id <> ''),
    CHECK (state IN ('waiting', 'delivered', 'failed'))
) STRICT;
-- An event is on its way to an endpoint once.
CREATE UNIQUE INDEX webhook_deliveries_event ON webhook_deliveries (academy_id, webhook_id, event) WHERE event > 0;
CREATE INDEX webhook_deliveries_due ON webhook_deliveries (academy_id, webhook_id, state, due_at, event);
CREATE INDEX webhook_deliveries_last ON webhook_deliveries (academy_id, webhook_id, last_at);

-- +goose Down
DROP TABLE webhook_deliveries;
DROP TABLE webhooks;
