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
    x INTEGER NOT NULL,
    y INTEGER NOT NULL,
    sunk INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX audit_remounts_of_case ON audit_remounts (code, first, last, at);
CREATE INDEX audit_remounts_in_time ON audit_remounts (at);
CREATE INDEX audit_remounts_of_technician ON audit_remounts (technician, entry);
CREATE INDEX audit_remounts_of_surveyor ON audit_remounts (surveyor, entry);

CREATE TABLE audit_months (
    month TEXT NOT NULL,
    technician TEXT NOT NULL,
    surveyor TEXT NOT NULL,
    method TEXT NOT NULL,
    first INTEGER NOT NULL,
    last INTEGER NOT NULL,
    count INTEGER NOT NULL,
    inside INTEGER NOT NULL,
    ap INTEGER NOT NULL,
    ap_squares INTEGER NOT NULL,
    lat INTEGER NOT NULL,
    lat_squares INTEGER NOT NULL,
    x INTEGER NOT NULL,
    y INTEGER NOT NULL,
    sunk INTEGER NOT NULL,
    PRIMARY KEY (month, technician, surveyor, method, first, last)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER audit_remount_added AFTER INSERT ON audit_remounts
BEGIN
    INSERT INTO audit_months VALUES (
        substr(NEW.at, 1, 7), NEW.technician, NEW.surveyor, NEW.method, NEW.first, NEW.last,
        1, NEW.total <= NEW.tolerance, NEW.ap, NEW.ap * NEW.ap, NEW.lat, NEW.lat * NEW.lat,
        NEW.x, NEW.y, NEW.sunk
    )
    ON CONFLICT DO UPDATE SET
        count = count + 1,
        inside = inside + excluded.inside,
        ap = ap + excluded.ap,
        ap_squares = ap_squares + excluded.ap_squares,
        lat = lat + excluded.lat,
        lat_squares = lat_squares + excluded.lat_squares,
        x = x + excluded.x,
        y = y + excluded.y,
        sunk = sunk + excluded.sunk;
END;

CREATE TRIGGER audit_remount_gone AFTER DELETE ON audit_remounts
BEGIN
    UPDATE audit_months SET
        count = count - 1,
        inside = inside - (OLD.total <= OLD.tolerance),
        ap = ap - OLD.ap,
        ap_squares = ap_squares - OLD.ap * OLD.ap,
        lat = lat - OLD.lat,
        lat_squares = lat_squares - OLD.lat * OLD.lat,
        x = x - OLD.x,
        y = y - OLD.y,
        sunk = sunk - OLD.sunk
    WHERE month = substr(OLD.at, 1, 7) AND technician = OLD.technician
        AND surveyor = OLD.surveyor AND method = OLD.method
        AND first = OLD.first AND last = OLD.last;
END;

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
