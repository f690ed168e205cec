-- What all of an academy's students together teach about a skill.

-- +goose Up
CREATE TABLE insights (
    academy_id text NOT NULL,
    skill_id text NOT NULL,
    -- The form of the document; one in another form is not read.
    form bigint NOT NULL,
    -- How many changes of practice it rests on.
    changes bigint NOT NULL,
    learned_at bigint NOT NULL,
    doc bytea NOT NULL,
    PRIMARY KEY (academy_id, skill_id),
    FOREIGN KEY (academy_id, skill_id) REFERENCES skills (academy_id, id)
);

-- +goose Down
DROP TABLE insights;
