CREATE INDEX entries_of_person ON entries (person, at, position);
CREATE INDEX entries_of_kind ON entries (kind, position);
CREATE INDEX entries_of_lab_itself ON entries (position)
WHERE case_code IS NULL AND kind NOT IN (
    'drill_planned', 'drill_reading', 'drill_closed', 'signal_acknowledged', 'figures_looked_at'
);

CREATE TABLE instrument_uses (
    tag TEXT NOT NULL,
    at TEXT NOT NULL,
    position INTEGER NOT NULL,
    PRIMARY KEY (tag, at, position)
) STRICT, WITHOUT ROWID;

INSERT OR IGNORE INTO instrument_uses (tag, at, position)
SELECT named.value, e.at, e.position
FROM entries AS e, json_each(
    CASE WHEN json_valid(CAST(e.bytes AS TEXT)) THEN CAST(e.bytes AS TEXT) ELSE '{}' END, '$.body'
) AS named
WHERE named.type = 'text' AND named.value <> ''
    AND named.key IN ('tag', 'gauge', 'surveyor', 'table', 'instrument');

CREATE TABLE log_checks (
    at_ms INTEGER PRIMARY KEY,
    person TEXT NOT NULL,
    entries INTEGER NOT NULL,
    problems INTEGER NOT NULL,
    kept_aside INTEGER NOT NULL
) STRICT;
