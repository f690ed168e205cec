-- Words between a student and the coaches that are about no session, how far each
-- has read them, and links that show a student's report to whoever has them.

-- +goose Up
CREATE TABLE messages (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    author_id text COLLATE "C" NOT NULL,
    text text COLLATE "C" NOT NULL,
    at bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, author_id) REFERENCES members (academy_id, id),
    CHECK (id <> '')
);

CREATE INDEX messages_of_students ON messages (academy_id, student_id, id) WHERE author_id = student_id;

CREATE TABLE message_reads (
    academy_id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    member_id text COLLATE "C" NOT NULL,
    -- The last message that the member has read.
    read_to text COLLATE "C" NOT NULL,
    -- How often the member has read on.
    marks bigint NOT NULL,
    PRIMARY KEY (academy_id, student_id, member_id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, member_id) REFERENCES members (academy_id, id),
    CHECK (read_to <> '')
);

CREATE TABLE report_links (
    academy_id text COLLATE "C" NOT NULL,
    id text COLLATE "C" NOT NULL,
    student_id text COLLATE "C" NOT NULL,
    -- The SHA-256 of the link's token.
    token bytea NOT NULL,
    -- The coach's own words at the top.
    words text COLLATE "C" NOT NULL,
    by_id text COLLATE "C" NOT NULL,
    created_at bigint NOT NULL,
    expires_at bigint NOT NULL,
    ended_at bigint,
    PRIMARY KEY (academy_id, id),
    FOREIGN KEY (academy_id, student_id) REFERENCES members (academy_id, id),
    FOREIGN KEY (academy_id, by_id) REFERENCES members (academy_id, id),
    CHECK (id <> ''),
    CHECK (length(token) = 32),
    CHECK (expires_at > created_at)
);
CREATE UNIQUE INDEX report_links_token ON report_links (academy_id, token);
CREATE INDEX report_links_student ON report_links (academy_id, student_id, id);

-- +goose Down
DROP TABLE report_links;
DROP TABLE message_reads;
DROP TABLE messages;
