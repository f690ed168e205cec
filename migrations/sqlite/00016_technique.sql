-- Technique is not tested any more, unless a ladder says so. What was practised
-- until now is judged by the rule of then, so that what was earned stays: where a
-- ladder was test-only that rule had ended before.

-- +goose Up
UPDATE tracks SET judged = (
    SELECT json_group_array(json(tier)) FROM (
        SELECT CASE
            WHEN NOT coalesce(json_extract(tracks.ladder, '$.test_only'), 0)
                THEN json_set(value, '$.technique_until', CAST((julianday('now') - 2440587.5) * 86400000 AS INTEGER))
            WHEN json_extract(value, '$.open_until') IS NOT NULL
                THEN json_set(value, '$.technique_until', json_extract(value, '$.open_until'))
            ELSE value
        END AS tier
        FROM json_each(tracks.judged) ORDER BY key
    )
);

-- +goose Down
UPDATE tracks SET judged = (
    SELECT json_group_array(json(tier)) FROM (SELECT json_remove(value, '$.technique_until') AS tier FROM json_each(tracks.judged) ORDER BY key)
);
