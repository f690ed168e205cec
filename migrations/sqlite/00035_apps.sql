-- Apps of other people that an owner registers, and the connections that members
-- make to them: what OAuth 2.0 calls clients and grants.

-- +goose Up
CREATE TABLE apps (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    -- A list of addresses.
    redirects TEXT NOT NULL,
    scopes TEXT NOT NULL,
    -- The SHA-256 of the secret; NULL for an app that can keep none.
    secret BLOB,
    by_id TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    revoked_at INTEGER,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (json_valid(redirects)),
    CHECK (length(secret) = 32)
) STRICT;
CREATE UNIQUE INDEX apps_id ON apps (id);

CREATE TABLE connections (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    app_id TEXT NOT NULL,
    member_id TEXT NOT NULL,
    -- The role in which the member agreed; in another one it is no good.
    role TEXT NOT NULL,
    scopes TEXT NOT NULL,
    -- The SHA-256 of the authorization code, and what its exchange must bear out.
    code BLOB NOT NULL,
    redirect TEXT NOT NULL,
    challenge TEXT NOT NULL,
    -- The chain of refresh tokens, as in sign_ins.
    lineage BLOB NOT NULL,
    current_token BLOB NOT NULL,
    previous_token BLOB NOT NULL,
    salt BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    -- When the code was exchanged, and when the app last got an access token.
    exchanged_at INTEGER,
    rotated_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    ended_at INTEGER,
    ended_why TEXT NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, app_id) REFERENCES apps (academy_id, id),
    FOREIGN KEY (academy_id, member_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (role IN ('owner', 'coach', 'student', 'guardian')),
    CHECK (length(code) = 32),
    CHECK (length(lineage) = 32 AND length(current_token) = 32 AND length(previous_token) = 32 AND length(salt) = 32)
) STRICT;
CREATE UNIQUE INDEX connections_id ON connections (id);
CREATE INDEX connections_app ON connections (academy_id, app_id, id);
CREATE INDEX connections_member ON connections (academy_id, member_id, id);
CREATE INDEX connections_expires ON connections (expires_at);

-- +goose Down
DROP TABLE connections;
DROP TABLE apps;
