-- Technique is not tested any more, unless a ladder says so. What was practised
-- until now is judged by the rule of then, so that what was earned stays: where a
-- ladder was test-only that rule had ended before.

-- +goose Up
UPDATE tracks SET judged = coalesce((
    SELECT json_agg(CASE
        WHEN NOT coalesce((ladder ->> 'test_only')::boolean, false)
            THEN tier || jsonb_build_object('technique_until', floor(extract(epoch FROM now()) * 1000)::bigint)
        WHEN tier ? 'open_until'
            THEN tier || jsonb_build_object('technique_until', tier -> 'open_until')
        ELSE tier
    END ORDER BY place)
    FROM jsonb_array_elements(judged::jsonb) WITH ORDINALITY AS each (tier, place)
), '[]'::json);

-- +goose Down
UPDATE tracks SET judged = coalesce((
    SELECT json_agg(tier - 'technique_until' ORDER BY place)
    FROM jsonb_array_elements(judged::jsonb) WITH ORDINALITY AS each (tier, place)
), '[]'::json);
