CREATE TABLE audit_remounts (
    entry TEXT PRIMARY KEY,
    round TEXT NOT NULL,
    at TEXT NOT NULL,
    code TEXT NOT NULL,
    technician TEXT NOT NULL,
    surveyor TEXT NOT NULL,
    method TEXT NOT NULL,
    record TEXT NOT NULL,
    ap INTEGER NOT NULL,
    lat INTEGER NOT NULL,
    total INTEGER NOT NULL,
    tolerance INTEGER NOT NULL,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL,
    x REAL NOT NULL,
    y REAL NOT NULL,
    sunk REAL NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX audit_remounts_of_case ON audit_remounts (code);
CREATE INDEX audit_remounts_of_technician ON audit_remounts (technician, entry);
CREATE INDEX audit_remounts_of_surveyor ON audit_remounts (surveyor, entry);

CREATE TABLE audit_gauges (
    entry TEXT PRIMARY KEY,
    at TEXT NOT NULL,
    code TEXT NOT NULL,
    setting TEXT NOT NULL,
    tooth INTEGER NOT NULL,
    surface TEXT NOT NULL,
    gauge INTEGER NOT NULL,
    person TEXT NOT NULL,
    contact TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX audit_gauges_of_case ON audit_gauges (code);

CREATE TABLE audit_calipers (
    entry TEXT PRIMARY KEY,
    at TEXT NOT NULL,
    code TEXT NOT NULL,
    marks TEXT NOT NULL,
    person TEXT NOT NULL,
    d_ab INTEGER NOT NULL,
    d_ac INTEGER NOT NULL,
    d_bc INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX audit_calipers_of_case ON audit_calipers (code);

CREATE TABLE audit_state (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1),
    filled INTEGER NOT NULL,
    version INTEGER NOT NULL
) STRICT;

INSERT INTO audit_state (only_row, filled, version)
SELECT 1, NOT EXISTS (SELECT 1 FROM entries WHERE case_code IS NOT NULL), 0;
