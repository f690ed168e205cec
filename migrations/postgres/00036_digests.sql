-- The weekly letter: who wants it, and which week was dealt with last. Letters that
-- can wait are sent after those that somebody waits for.

-- +goose Up
CREATE TABLE digests (
    academy_id text COLLATE "C" NOT NULL,
    member_id text COLLATE "C" NOT NULL,
    -- The Monday on which a letter was last due, and that of the last letter; NULL for
    -- none yet. They are days in the member's time zone.
    week text COLLATE "C",
    told text COLLATE "C",
    -- The secret in the address that stops the letter. It does nothing else, and every
    -- letter repeats it, so it is kept as it is.
    token text COLLATE "C",
    -- When the member said that they want none.
    stopped_at bigint,
    PRIMARY KEY (academy_id, member_id),
    FOREIGN KEY (academy_id, member_id) REFERENCES members (academy_id, id),
    CHECK (token <> '')
);
CREATE UNIQUE INDEX digests_token ON digests (academy_id, token);

-- 0 for a letter that somebody waits for, 1 for one that can wait.
ALTER TABLE letters ADD COLUMN rank bigint NOT NULL DEFAULT 0;
-- Whose the letter is, of one that tells of an academy.
ALTER TABLE letters ADD COLUMN academy_id text COLLATE "C";
DROP INDEX letters_due;
CREATE INDEX letters_due ON letters (rank, due_at, id);

-- +goose Down
DROP INDEX letters_due;
ALTER TABLE letters DROP COLUMN academy_id;
ALTER TABLE letters DROP COLUMN rank;
CREATE INDEX letters_due ON letters (due_at, id);
DROP TABLE digests;
