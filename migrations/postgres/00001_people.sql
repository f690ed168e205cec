-- People: accounts that sign in, academies, their members, and what ties them.
-- Instants are milliseconds since 1970-01-01 UTC; identities are UUIDs as text.
-- Text is compared as bytes, as SQLite does; json keeps a document as written,
-- where jsonb would reorder it.

-- +goose Up
CREATE TABLE accounts (
    id text COLLATE "C" NOT NULL,
    email text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    password text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    PRIMARY KEY (id),
    CHECK (id <> '')
);
CREATE UNIQUE INDEX accounts_email ON accounts (email);

CREATE TABLE academies (
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    time_zone text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    -- The number of the academy's latest event.
    last_event bigint NOT NULL,
    PRIMARY KEY (id),
    CHECK (id <> ''),
    CHECK (last_event >= 0)
);

CREATE TABLE members (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    account_id text COLLATE "C" NOT NULL,
    role text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    time_zone text COLLATE "C" NOT NULL,
    units text COLLATE "C" NOT NULL,
    junior boolean NOT NULL,
    consent_at bigint,
    consent_by text COLLATE "C",
    removed_at bigint,
    revision bigint NOT NULL,
    joined_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (account_id) REFERENCES accounts (id),
    FOREIGN KEY (academy_id, consent_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (role IN ('owner', 'coach', 'student', 'guardian')),
    CHECK (units IN ('feet', 'metres')),
    CHECK (revision >= 1)
);
CREATE UNIQUE INDEX members_account ON members (academy_id, account_id);
CREATE INDEX members_role ON members (academy_id, role, id);
CREATE INDEX members_of_account ON members (account_id, id);

CREATE TABLE coach_links (
    academy_id text COLLATE "C" NOT NULL,
    coach_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, coach_id, student_id),
    FOREIGN KEY (academy_id, coach_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (coach_id <> student_id)
);
CREATE INDEX coach_links_student ON coach_links (academy_id, student_id, coach_id);

CREATE TABLE guardianships (
    academy_id text COLLATE "C" NOT NULL,
    guardian_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, guardian_id, student_id),
    FOREIGN KEY (academy_id, guardian_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    CHECK (guardian_id <> student_id)
);
CREATE INDEX guardianships_student ON guardianships (academy_id, student_id, guardian_id);

CREATE TABLE student_groups (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    revision bigint NOT NULL,
    created_at bigint NOT NULL,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (id <> ''),
    CHECK (revision >= 1)
);

CREATE TABLE group_students (
    academy_id text COLLATE "C" NOT NULL,
    group_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    PRIMARY KEY (academy_id, group_id, student_id),
    FOREIGN KEY (academy_id, group_id) REFERENCES student_groups (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id)
);
CREATE INDEX group_students_student ON group_students (academy_id, student_id, group_id);

CREATE TABLE invitations (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    role text COLLATE "C" NOT NULL,
    email text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    by_id text COLLATE "C" NOT NULL,
    coach_id text COLLATE "C",
    group_id text COLLATE "C",
    student_id text COLLATE "C",
    junior boolean NOT NULL,
    -- The SHA-256 of the code; found among all academies.
    code bytea NOT NULL,
    created_at bigint NOT NULL,
    expires_at bigint NOT NULL,
    accepted_at bigint,
    accepted_by text COLLATE "C",
    revoked_at bigint,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, coach_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, group_id) REFERENCES student_groups (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, accepted_by) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (role IN ('owner', 'coach', 'student', 'guardian')),
    CHECK (length(code) = 32),
    CHECK ((accepted_at IS NULL) = (accepted_by IS NULL))
);
CREATE UNIQUE INDEX invitations_code ON invitations (code);
CREATE INDEX invitations_by ON invitations (academy_id, by_id, id);
CREATE INDEX invitations_group ON invitations (academy_id, group_id);

CREATE TABLE app_keys (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    name text COLLATE "C" NOT NULL,
    scopes text COLLATE "C" NOT NULL,
    -- The SHA-256 of the secret.
    secret bytea NOT NULL,
    by_id text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    used_at bigint,
    revoked_at bigint,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (length(secret) = 32)
);
CREATE UNIQUE INDEX app_keys_id ON app_keys (id);

CREATE TABLE sign_ins (
    id text COLLATE "C" NOT NULL,
    account_id text COLLATE "C" NOT NULL,
    -- Where the device is now; both empty for an account that belongs nowhere.
    academy_id text COLLATE "C",
    member_id text COLLATE "C",
    lineage bytea NOT NULL,
    current_token bytea NOT NULL,
    previous_token bytea NOT NULL,
    salt bytea NOT NULL,
    origin text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    rotated_at bigint NOT NULL,
    expires_at bigint NOT NULL,
    ended_at bigint,
    ended_why text COLLATE "C" NOT NULL,
    PRIMARY KEY (id),
    FOREIGN KEY (account_id) REFERENCES accounts (id),
    FOREIGN KEY (academy_id, member_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK ((academy_id IS NULL) = (member_id IS NULL)),
    CHECK (length(lineage) = 32 AND length(current_token) = 32 AND length(previous_token) = 32 AND length(salt) = 32)
);
CREATE INDEX sign_ins_origin ON sign_ins (account_id, origin);
CREATE INDEX sign_ins_expires ON sign_ins (expires_at);

CREATE TABLE attempts (
    bucket text COLLATE "C" NOT NULL,
    at bigint NOT NULL,
    PRIMARY KEY (bucket)
);
CREATE INDEX attempts_at ON attempts (at);

-- The academy's ordered log: 1, 2, 3 … without gaps.
CREATE TABLE events (
    academy_id text COLLATE "C" NOT NULL,
    seq bigint NOT NULL,
    at bigint NOT NULL,
    -- A member, a key, or nobody, who may be gone by now.
    actor_id text COLLATE "C",
    kind text COLLATE "C" NOT NULL,
    subject_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C",
    data json NOT NULL,
    PRIMARY KEY (academy_id, seq),
    FOREIGN KEY (academy_id) REFERENCES academies (id),
    CHECK (seq >= 1)
);

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
