-- What all of an academy's students together teach about a skill.

-- +goose Up
CREATE TABLE insights (
    academy_id TEXT NOT NULL,
    skill_id TEXT NOT NULL,
    -- The form of the document; one in another form is not read.
    form INTEGER NOT NULL,
    -- How many changes of practice it rests on.
    changes INTEGER NOT NULL,
    learned_at INTEGER NOT NULL,
    doc BLOB NOT NULL,
    PRIMARY KEY (academy_id, skill_id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id)
) STRICT;

-- +goose Down
DROP TABLE insights;
