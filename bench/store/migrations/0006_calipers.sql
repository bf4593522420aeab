INSERT OR IGNORE INTO instrument_uses (tag, at, position)
SELECT named.value, e.at, e.position
FROM entries AS e, json_each(
    CASE WHEN json_valid(CAST(e.bytes AS TEXT)) THEN CAST(e.bytes AS TEXT) ELSE '{}' END, '$.body'
) AS named
WHERE named.type = 'text' AND named.value <> '' AND named.key IN ('caliper', 'sleeve');
