-- What stays of people who were erased: how much was practised, by skill, without
-- anybody; how long an academy keeps what it need not; and comments that are replies,
-- were edited or deleted.

-- +goose Up
CREATE TABLE erased_practice (
    academy_id text COLLATE "C" NOT NULL,
    skill_id text COLLATE "C" NOT NULL,
    students bigint NOT NULL,
    sessions bigint NOT NULL,
    balls bigint NOT NULL,
    inside bigint NOT NULL,
    holed bigint NOT NULL,
    seconds bigint NOT NULL,
    PRIMARY KEY (academy_id, skill_id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id)
);
-- In days; 0 for ever.
ALTER TABLE academies ADD COLUMN erase_removed bigint NOT NULL DEFAULT 0 CHECK (erase_removed >= 0);
ALTER TABLE academies ADD COLUMN forget_events bigint NOT NULL DEFAULT 0 CHECK (forget_events >= 0);
ALTER TABLE comments ADD COLUMN reply_to text COLLATE "C";
ALTER TABLE comments ADD COLUMN edited_at bigint;
ALTER TABLE comments ADD COLUMN deleted_at bigint;

-- +goose Down
ALTER TABLE comments DROP COLUMN deleted_at;
ALTER TABLE comments DROP COLUMN edited_at;
ALTER TABLE comments DROP COLUMN reply_to;
ALTER TABLE academies DROP COLUMN forget_events;
ALTER TABLE academies DROP COLUMN erase_removed;
DROP TABLE erased_practice;
