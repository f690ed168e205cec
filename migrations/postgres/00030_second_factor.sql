-- What a person signs in with beside a password, and what is given once: links by
-- mail, half a sign-in, and the like.

-- +goose Up
CREATE TABLE authenticators (
    account_id text COLLATE "C" NOT NULL,
    secret bytea NOT NULL,
    created_at bigint NOT NULL,
    -- Not set until the first code of it was shown.
    confirmed_at bigint,
    -- The latest step of time whose code was accepted.
    last_step bigint NOT NULL,
    PRIMARY KEY (account_id),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE
);

CREATE TABLE recovery_codes (
    account_id text COLLATE "C" NOT NULL,
    -- The SHA-256 of the code.
    code bytea NOT NULL,
    PRIMARY KEY (account_id, code),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE,
    CHECK (length(code) = 32)
);

CREATE TABLE passkeys (
    id text COLLATE "C" NOT NULL,
    account_id text COLLATE "C" NOT NULL,
    -- The authenticator's own name of it, unique among all accounts.
    credential bytea NOT NULL,
    name text COLLATE "C" NOT NULL,
    doc text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    used_at bigint,
    PRIMARY KEY (id),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE,
    CHECK (id <> '')
);
CREATE UNIQUE INDEX passkeys_credential ON passkeys (credential);
CREATE INDEX passkeys_account ON passkeys (account_id, id);

CREATE TABLE tickets (
    -- The SHA-256 of the secret that was given.
    digest bytea NOT NULL,
    purpose text COLLATE "C" NOT NULL,
    -- Whose it is; empty for somebody who has no account yet.
    account_id text COLLATE "C",
    doc text COLLATE "C" NOT NULL,
    misses bigint NOT NULL,
    created_at bigint NOT NULL,
    expires_at bigint NOT NULL,
    PRIMARY KEY (digest),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE,
    CHECK (length(digest) = 32),
    CHECK (misses >= 0)
);
CREATE INDEX tickets_account ON tickets (account_id, purpose);
CREATE INDEX tickets_expires ON tickets (expires_at);

-- Whether owners and coaches must have a second factor here.
ALTER TABLE academies ADD COLUMN second_factor boolean NOT NULL DEFAULT false;

-- +goose Down
ALTER TABLE academies DROP COLUMN second_factor;
DROP TABLE tickets;
DROP TABLE passkeys;
DROP TABLE recovery_codes;
DROP TABLE authenticators;
