CREATE TABLE case_summaries (
    code TEXT PRIMARY KEY,
    number TEXT NOT NULL,
    arch TEXT NOT NULL,
    kennedy TEXT NOT NULL,
    state TEXT NOT NULL,
    step TEXT NOT NULL,
    opened_at TEXT NOT NULL,
    touched_at TEXT NOT NULL,
    blocking TEXT NOT NULL,
    warning TEXT NOT NULL,
    stale INTEGER NOT NULL,
    contradictions INTEGER NOT NULL,
    overruled INTEGER NOT NULL,
    lab_position INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

CREATE INDEX summaries_touched ON case_summaries (touched_at, code);
CREATE INDEX summaries_opened ON case_summaries (opened_at, code);
CREATE INDEX summaries_number ON case_summaries (number, code);
CREATE INDEX summaries_state ON case_summaries (state, touched_at, code);
CREATE INDEX summaries_step ON case_summaries (step, touched_at, code);
CREATE INDEX summaries_lab ON case_summaries (lab_position, touched_at);

CREATE TABLE case_teeth (
    tooth INTEGER NOT NULL,
    code TEXT NOT NULL REFERENCES case_summaries (code) ON DELETE CASCADE,
    PRIMARY KEY (tooth, code)
) STRICT, WITHOUT ROWID;

CREATE INDEX case_teeth_of_case ON case_teeth (code);

CREATE TABLE case_people (
    person TEXT NOT NULL,
    code TEXT NOT NULL REFERENCES case_summaries (code) ON DELETE CASCADE,
    PRIMARY KEY (person, code)
) STRICT, WITHOUT ROWID;

CREATE INDEX case_people_of_case ON case_people (code);

CREATE TABLE case_words (
    word TEXT NOT NULL,
    code TEXT NOT NULL REFERENCES case_summaries (code) ON DELETE CASCADE,
    PRIMARY KEY (word, code)
) STRICT, WITHOUT ROWID;

CREATE INDEX case_words_of_case ON case_words (code);

CREATE TABLE case_counts (
    state TEXT NOT NULL,
    step TEXT NOT NULL,
    cases INTEGER NOT NULL,
    PRIMARY KEY (state, step)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER case_counted AFTER INSERT ON case_summaries
BEGIN
    INSERT INTO case_counts (state, step, cases) VALUES (NEW.state, NEW.step, 1)
    ON CONFLICT (state, step) DO UPDATE SET cases = cases + 1;
END;

CREATE TRIGGER case_discounted AFTER DELETE ON case_summaries
BEGIN
    UPDATE case_counts SET cases = cases - 1 WHERE state = OLD.state AND step = OLD.step;
END;

CREATE TRIGGER case_counted_elsewhere AFTER UPDATE OF state, step ON case_summaries
BEGIN
    UPDATE case_counts SET cases = cases - 1 WHERE state = OLD.state AND step = OLD.step;
    INSERT INTO case_counts (state, step, cases) VALUES (NEW.state, NEW.step, 1)
    ON CONFLICT (state, step) DO UPDATE SET cases = cases + 1;
END;
