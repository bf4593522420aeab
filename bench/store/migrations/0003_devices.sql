CREATE TABLE pairing_code (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
    salt BLOB NOT NULL,
    code_hash BLOB NOT NULL,
    supervisor TEXT NOT NULL,
    made_at_ms INTEGER NOT NULL,
    tries INTEGER NOT NULL DEFAULT 0,
    last_try_at_ms INTEGER,
    used_by TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE device_contacts (
    device TEXT PRIMARY KEY,
    at_ms INTEGER NOT NULL,
    unsent INTEGER
) STRICT;

CREATE TABLE refused (
    digest TEXT PRIMARY KEY,
    device TEXT NOT NULL,
    code TEXT NOT NULL,
    field TEXT NOT NULL,
    at_ms INTEGER NOT NULL
) STRICT;
