-- What a person signs in with beside a password, and what is given once: links by
-- mail, half a sign-in, and the like.

-- +goose Up
CREATE TABLE authenticators (
    account_id TEXT NOT NULL,
    secret BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    -- Not set until the first code of it was shown.
    confirmed_at INTEGER,
    -- The latest step of time whose code was accepted.
    last_step INTEGER NOT NULL,
    PRIMARY KEY (account_id),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

CREATE TABLE recovery_codes (
    account_id TEXT NOT NULL,
    -- The SHA-256 of the code.
    code BLOB NOT NULL,
    PRIMARY KEY (account_id, code),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE,
    CHECK (length(code) = 32)
) STRICT, WITHOUT ROWID;

CREATE TABLE passkeys (
    id TEXT NOT NULL,
    account_id TEXT NOT NULL,
    -- The authenticator's own name of it, unique among all accounts.
    credential BLOB NOT NULL,
    name TEXT NOT NULL,
    doc TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    used_at INTEGER,
    PRIMARY KEY (id),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE,
    CHECK (id <> '')
) STRICT;
CREATE UNIQUE INDEX passkeys_credential ON passkeys (credential);
CREATE INDEX passkeys_account ON passkeys (account_id, id);

CREATE TABLE tickets (
    -- The SHA-256 of the secret that was given.
    digest BLOB NOT NULL,
    purpose TEXT NOT NULL,
    -- Whose it is; empty for somebody who has no account yet.
    account_id TEXT,
    doc TEXT NOT NULL,
    misses INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    PRIMARY KEY (digest),
    FOREIGN KEY (account_id) REFERENCES accounts (id) ON DELETE CASCADE,
    CHECK (length(digest) = 32),
    CHECK (misses >= 0)
) STRICT, WITHOUT ROWID;
CREATE INDEX tickets_account ON tickets (account_id, purpose);
CREATE INDEX tickets_expires ON tickets (expires_at);

-- Whether owners and coaches must have a second factor here.
ALTER TABLE academies ADD COLUMN second_factor INTEGER NOT NULL DEFAULT 0 CHECK (second_factor IN (0, 1));

-- +goose Down
ALTER TABLE academies DROP COLUMN second_factor;
DROP TABLE tickets;
DROP TABLE passkeys;
DROP TABLE recovery_codes;
DROP TABLE authenticators;
