CREATE TABLE photo_lenses (
    sha256 TEXT PRIMARY KEY,
    device TEXT NOT NULL,
    photo TEXT NOT NULL,
    proportion REAL NOT NULL,
    focal REAL NOT NULL,
    sd REAL NOT NULL
) STRICT;

CREATE INDEX photo_lenses_by_device ON photo_lenses (device, photo);
