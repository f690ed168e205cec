-- People: accounts that sign in, academies, their members, and what ties them.
-- Instants are milliseconds since 1970-01-01 UTC; identities are UUIDs as text.

-- +goose Up
CREATE TABLE accounts (
    id TEXT NOT NULL,
    email TEXT NOT NULL,
    name TEXT NOT NULL,
    password TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (id),
    CHECK (id <> '')
) STRICT;
CREATE UNIQUE INDEX accounts_email ON accounts (email);

CREATE TABLE academies (
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    -- The number of the academy's latest event.
    last_event INTEGER NOT NULL,
    PRIMARY KEY (id),
    CHECK (id <> ''),
    CHECK (last_event >= 0)
) STRICT;

CREATE TABLE members (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    account_id TEXT NOT NULL,
    role TEXT NOT NULL,
    name TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    units TEXT NOT NULL,
    junior INTEGER NOT NULL,
    consent_at INTEGER,
    consent_by TEXT,
    removed_at INTEGER,
    revision INTEGER NOT NULL,
    joined_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (account_id) REFERENCES accounts (id),
    FOREIGN KEY (academy_id, consent_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (role IN ('owner', 'coach', 'student', 'guardian')),
    CHECK (units IN ('feet', 'metres')),
    CHECK (junior IN (0, 1)),
    CHECK (revision >= 1)
) STRICT;
CREATE UNIQUE INDEX members_account ON members (academy_id, account_id);
CREATE INDEX members_role ON members (academy_id, role, id);
CREATE INDEX members_of_account ON members (account_id, id);

CREATE TABLE coach_links (
    academy_id TEXT NOT NULL,
    coach_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    PRIMARY KEY (academy_id, coach_id, student_id),
    FOREIGN KEY (academy_id, coach_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (coach_id <> student_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX coach_links_student ON coach_links (academy_id, student_id, coach_id);

CREATE TABLE guardianships (
    academy_id TEXT NOT NULL,
    guardian_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    PRIMARY KEY (academy_id, guardian_id, student_id),
    FOREIGN KEY (academy_id, guardian_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (guardian_id <> student_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX guardianships_student ON guardianships (academy_id, student_id, guardian_id);

CREATE TABLE student_groups (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    revision INTEGER NOT NULL,
    created_at INTEGER NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (id <> ''),
    CHECK (revision >= 1)
) STRICT;

CREATE TABLE group_students (
    academy_id TEXT NOT NULL,
    group_id TEXT NOT NULL,
    student_id TEXT NOT NULL,
    PRIMARY KEY (academy_id, group_id, student_id),
    FOREIGN KEY (academy_id, group_id) REFERENCES student_groups (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
) STRICT, WITHOUT ROWID;
CREATE INDEX group_students_student ON group_students (academy_id, student_id, group_id);

CREATE TABLE invitations (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    role TEXT NOT NULL,
    email TEXT NOT NULL,
    name TEXT NOT NULL,
    by_id TEXT NOT NULL,
    coach_id TEXT,
    group_id TEXT,
    student_id TEXT,
    junior INTEGER NOT NULL,
    -- The SHA-256 of the code; found among all academies.
    code BLOB NOT NULL,
    created_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    accepted_at INTEGER,
    accepted_by TEXT,
    revoked_at INTEGER,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, coach_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, group_id) REFERENCES student_groups (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, accepted_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (role IN ('owner', 'coach', 'student', 'guardian')),
    CHECK (junior IN (0, 1)),
    CHECK (length(code) = 32),
    CHECK ((accepted_at IS NULL) = (accepted_by IS NULL))
) STRICT;
CREATE UNIQUE INDEX invitations_code ON invitations (code);
CREATE INDEX invitations_by ON invitations (academy_id, by_id, id);
CREATE INDEX invitations_group ON invitations (academy_id, group_id);

CREATE TABLE app_keys (
    academy_id TEXT NOT NULL,
    id TEXT NOT NULL,
    name TEXT NOT NULL,
    scopes TEXT NOT NULL,
    -- The SHA-256 of the secret.
    secret BLOB NOT NULL,
    by_id TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    used_at INTEGER,
    revoked_at INTEGER,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (length(secret) = 32)
) STRICT;
CREATE UNIQUE INDEX app_keys_id ON app_keys (id);

CREATE TABLE sign_ins (
    id TEXT NOT NULL,
    account_id TEXT NOT NULL,
    -- Where the device is now; both empty for an account that belongs nowhere.
    academy_id TEXT,
    member_id TEXT,
    lineage BLOB NOT NULL,
    current_token BLOB NOT NULL,
    previous_token BLOB NOT NULL,
    salt BLOB NOT NULL,
    origin TEXT NOT NULL,
    created_at INTEGER NOT NULL,
    rotated_at INTEGER NOT NULL,
    expires_at INTEGER NOT NULL,
    ended_at INTEGER,
    ended_why TEXT NOT NULL,
    PRIMARY KEY (id),
    FOREIGN KEY (account_id) REFERENCES accounts (id),
    FOREIGN KEY (academy_id, member_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK ((academy_id IS NULL) = (member_id IS NULL)),
    CHECK (length(lineage) = 32 AND length(current_token) = 32 AND length(previous_token) = 32 AND length(salt) = 32)
) STRICT;
CREATE INDEX sign_ins_origin ON sign_ins (account_id, origin);
CREATE INDEX sign_ins_expires ON sign_ins (expires_at);

CREATE TABLE attempts (
    bucket TEXT NOT NULL,
    at INTEGER NOT NULL,
    PRIMARY KEY (bucket)
) STRICT, WITHOUT ROWID;
CREATE INDEX attempts_at ON attempts (at);

-- The academy's ordered log: 1, 2, 3 … without gaps.
CREATE TABLE events (
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

-- +goose Down
DROP TABLE events;
DROP TABLE attempts;
DROP TABLE sign_ins;
DROP TABLE app_keys;
DROP TABLE invitations;
DROP TABLE group_students;
DROP TABLE student_groups;
DROP TABLE guardianships;
DROP TABLE coach_links;
DROP TABLE members;
DROP TABLE academies;
DROP TABLE accounts;
