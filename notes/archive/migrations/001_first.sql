CREATE TABLE person (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL COLLATE NOCASE UNIQUE,
    stance TEXT,
    junior INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE alias (
    name TEXT NOT NULL COLLATE NOCASE PRIMARY KEY,
    person INTEGER NOT NULL REFERENCES person ON DELETE CASCADE
);
CREATE TABLE recording (
    sha256 TEXT PRIMARY KEY,
    name TEXT NOT NULL,
    day TEXT NOT NULL,
    sheet TEXT NOT NULL,
    footage TEXT,
    transcript TEXT NOT NULL,
    added_at TEXT NOT NULL
);
CREATE TABLE attendance (
    recording TEXT NOT NULL REFERENCES recording ON DELETE CASCADE,
    person INTEGER NOT NULL REFERENCES person ON DELETE CASCADE,
    PRIMARY KEY (recording, person)
);
CREATE TABLE reading (
    id INTEGER PRIMARY KEY,
    recording TEXT NOT NULL REFERENCES recording ON DELETE CASCADE,
    lexicon_sha256 TEXT NOT NULL,
    program_version TEXT NOT NULL,
    made_at TEXT NOT NULL
);
CREATE TABLE observation (
    id TEXT PRIMARY KEY,
    reading INTEGER NOT NULL REFERENCES reading ON DELETE CASCADE,
    person INTEGER REFERENCES person ON DELETE CASCADE,
    athlete TEXT NOT NULL,
    role TEXT NOT NULL,
    kind TEXT NOT NULL,
    why TEXT,
    unlisted TEXT,
    start_ms INTEGER,
    end_ms INTEGER,
    footage_ms INTEGER,
    round INTEGER,
    again INTEGER NOT NULL,
    quote TEXT NOT NULL,
    confidence REAL NOT NULL
);
CREATE INDEX observation_person ON observation (person, kind);
CREATE INDEX observation_reading ON observation (reading);
CREATE TABLE term (
    observation TEXT NOT NULL REFERENCES observation ON DELETE CASCADE,
    sort TEXT NOT NULL,
    place INTEGER NOT NULL,
    id TEXT NOT NULL,
    PRIMARY KEY (observation, sort, place)
);
CREATE INDEX term_id ON term (id);
CREATE VIRTUAL TABLE observation_search USING fts5 (
    quote, meaning, observation UNINDEXED, tokenize = 'porter unicode61 remove_diacritics 2'
);
CREATE VIRTUAL TABLE observation_words USING fts5vocab (observation_search, 'row');
CREATE TRIGGER observation_gone AFTER DELETE ON observation BEGIN
    DELETE FROM observation_search WHERE observation = old.id;
END;
