CREATE TABLE entries (
    position INTEGER PRIMARY KEY,
    id TEXT NOT NULL UNIQUE,
    device TEXT NOT NULL,
    device_seq INTEGER NOT NULL CHECK (device_seq >= 1),
    kind TEXT NOT NULL,
    case_code TEXT,
    setting_id TEXT,
    person TEXT NOT NULL,
    at TEXT NOT NULL,
    prev TEXT NOT NULL,
    digest TEXT NOT NULL,
    bytes BLOB NOT NULL,
    received_at TEXT NOT NULL,
    arrival TEXT NOT NULL,
    UNIQUE (device, device_seq)
) STRICT;

CREATE INDEX entries_of_case ON entries (case_code, position) WHERE case_code IS NOT NULL;
CREATE INDEX entries_of_lab ON entries (position) WHERE case_code IS NULL;

CREATE TRIGGER entries_are_never_changed BEFORE UPDATE ON entries
BEGIN
    SELECT RAISE(ABORT, 'an entry is never changed');
END;

CREATE TRIGGER entries_are_never_deleted BEFORE DELETE ON entries
BEGIN
    SELECT RAISE(ABORT, 'an entry is never deleted');
END;

CREATE TRIGGER entries_are_never_replaced BEFORE INSERT ON entries
WHEN EXISTS (SELECT 1 FROM entries WHERE position = NEW.position)
    OR EXISTS (SELECT 1 FROM entries WHERE id = NEW.id)
    OR EXISTS (SELECT 1 FROM entries WHERE device = NEW.device AND device_seq = NEW.device_seq)
BEGIN
    SELECT RAISE(ABORT, 'an entry is never replaced');
END;

CREATE TABLE quarantine (
    position INTEGER PRIMARY KEY,
    id TEXT NOT NULL,
    device TEXT NOT NULL,
    device_seq INTEGER NOT NULL,
    digest TEXT NOT NULL UNIQUE,
    code TEXT NOT NULL,
    bytes BLOB NOT NULL,
    received_at TEXT NOT NULL,
    arrival TEXT NOT NULL
) STRICT;

CREATE TRIGGER quarantine_is_never_changed BEFORE UPDATE ON quarantine
BEGIN
    SELECT RAISE(ABORT, 'what is kept aside is never changed');
END;

CREATE TRIGGER quarantine_is_never_deleted BEFORE DELETE ON quarantine
BEGIN
    SELECT RAISE(ABORT, 'what is kept aside is never deleted');
END;

CREATE TABLE bench (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
    device TEXT NOT NULL,
    epoch TEXT NOT NULL,
    digest TEXT NOT NULL
) STRICT;

CREATE TABLE credentials (
    initials TEXT PRIMARY KEY,
    pin_hash TEXT NOT NULL,
    failures INTEGER NOT NULL DEFAULT 0,
    last_failure_at_ms INTEGER,
    locked INTEGER NOT NULL DEFAULT 0 CHECK (locked IN (0, 1))
) STRICT;
