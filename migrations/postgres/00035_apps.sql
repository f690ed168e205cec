-- Apps of other people that an owner registers, and the connections that members
-- make to them: what OAuth 2.0 calls clients and grants.

-- +goose Up
CREATE TABLE apps (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    -- A list of addresses.
    redirects json NOT NULL,
    scopes text COLLATE "C" NOT NULL,
    -- The SHA-256 of the secret; NULL for an app that can keep none.
    secret bytea,
    by_id text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    revoked_at bigint,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (length(secret) = 32)
);
CREATE UNIQUE INDEX apps_id ON apps (id);

CREATE TABLE connections (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    app_id text COLLATE "C" NOT NULL,
    member_id text COLLATE "C" NOT NULL,
    -- The role in which the member agreed; in another one it is no good.
    role text COLLATE "C" NOT NULL,
    scopes text COLLATE "C" NOT NULL,
    -- The SHA-256 of the authorization code, and what its exchange must bear out.
    code bytea NOT NULL,
    redirect text COLLATE "C" NOT NULL,
    challenge text COLLATE "C" NOT NULL,
    -- The chain of refresh tokens, as in sign_ins.
    lineage bytea NOT NULL,
    current_token bytea NOT NULL,
    previous_token bytea NOT NULL,
    salt bytea NOT NULL,
    created_at bigint NOT NULL,
    -- When the code was exchanged, and when the app last got an access token.
    exchanged_at bigint,
    rotated_at bigint NOT NULL,
    expires_at bigint NOT NULL,
    ended_at bigint,
    ended_why text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, app_id) REFERENCES apps (academy_id, id),
    FOREIGN KEY (academy_id, member_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (role IN ('owner', 'coach', 'student', 'guardian')),
    CHECK (length(code) = 32),
    CHECK (length(lineage) = 32 AND length(current_token) = 32 AND length(previous_token) = 32 AND length(salt) = 32)
);
CREATE UNIQUE INDEX connections_id ON connections (id);
CREATE INDEX connections_app ON connections (academy_id, app_id, id);
CREATE INDEX connections_member ON connections (academy_id, member_id, id);
CREATE INDEX connections_expires ON connections (expires_at);

-- +goose Down
DROP TABLE connections;
DROP TABLE apps;
