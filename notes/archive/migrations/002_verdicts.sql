-- What the machine read and what a person decided stand apart; the log that follows from both is kept as entries.

-- A reading names what made it. NULL second_sha256: the first reader read alone.
ALTER TABLE reading ADD COLUMN second_sha256 TEXT;
ALTER TABLE reading ADD COLUMN speech_model TEXT;
UPDATE reading SET
    second_sha256 = 'unknown',
    speech_model = (SELECT json_extract(transcript, '$.model') FROM recording WHERE sha256 = reading.recording);
CREATE INDEX reading_recording ON reading (recording, id);
CREATE VIEW newest_reading AS SELECT recording, max(id) AS id FROM reading GROUP BY recording;

-- What was read, with names as the sheet has them. Never changed. perhaps: too unsure to be logged, offered only.
-- Of a text without times, start_ms and end_ms only keep the order.
CREATE TABLE observation_002 (
    reading INTEGER NOT NULL REFERENCES reading ON DELETE CASCADE,
    id TEXT NOT NULL,
    perhaps INTEGER NOT NULL,
    athlete TEXT NOT NULL,
    role TEXT NOT NULL,
    kind TEXT NOT NULL,
    techniques TEXT NOT NULL,
    faults TEXT NOT NULL,
    fixes TEXT NOT NULL,
    why TEXT,
    unlisted TEXT,
    start_ms INTEGER,
    end_ms INTEGER,
    footage_ms INTEGER,
    round INTEGER,
    again INTEGER NOT NULL,
    quote TEXT NOT NULL,
    confidence REAL NOT NULL,
    PRIMARY KEY (reading, id)
);

CREATE INDEX observation_perhaps ON observation_002 (id) WHERE perhaps;

-- What a person decided about a remark. Never changed, only added to: of one thread, the newest that is not undone
-- stands. seen is the remark as it stood before that person's word; thread is the id of its first verdict.
CREATE TABLE verdict (
    id INTEGER PRIMARY KEY,
    thread INTEGER NOT NULL,
    recording TEXT NOT NULL REFERENCES recording ON DELETE CASCADE,
    reading INTEGER REFERENCES reading ON DELETE SET NULL,
    added INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('kept', 'amended', 'struck', 'undone')),
    start_ms INTEGER,
    end_ms INTEGER,
    quote TEXT NOT NULL,
    seen TEXT NOT NULL,
    changes TEXT NOT NULL,
    made_by TEXT NOT NULL,
    made_at TEXT NOT NULL,
    why TEXT
);
CREATE INDEX verdict_recording ON verdict (recording, thread, id);

-- Which names are one person. The newest line of a person stands; into_person NULL: split off again.
CREATE TABLE merging (
    id INTEGER PRIMARY KEY,
    person INTEGER NOT NULL REFERENCES person ON DELETE CASCADE,
    into_person INTEGER REFERENCES person ON DELETE CASCADE,
    made_by TEXT NOT NULL,
    made_at TEXT NOT NULL,
    why TEXT
);
-- Follows from merging: the person at the end of the chain.
ALTER TABLE person ADD COLUMN merged_into INTEGER REFERENCES person ON DELETE SET NULL;
CREATE INDEX person_merged ON person (merged_into);
CREATE INDEX alias_person ON alias (person);
CREATE INDEX attendance_person ON attendance (person);

-- The log as it stands: newest reading and verdicts. Follows from the tables above, and is made anew for a recording
-- whenever they change. Struck entries are kept here too.
CREATE TABLE entry (
    number INTEGER PRIMARY KEY,
    id TEXT NOT NULL,
    recording TEXT NOT NULL REFERENCES recording ON DELETE CASCADE,
    day TEXT NOT NULL,
    person INTEGER REFERENCES person ON DELETE CASCADE,
    verdict TEXT,
    thread INTEGER,
    observation TEXT,
    athlete TEXT NOT NULL,
    role TEXT NOT NULL,
    kind TEXT NOT NULL,
    techniques TEXT NOT NULL,
    faults TEXT NOT NULL,
    fixes TEXT NOT NULL,
    why TEXT,
    unlisted TEXT,
    start_ms INTEGER,
    end_ms INTEGER,
    footage_ms INTEGER,
    round INTEGER,
    again INTEGER NOT NULL,
    quote TEXT NOT NULL,
    confidence REAL NOT NULL,
    UNIQUE (recording, id)
);
CREATE INDEX entry_id ON entry (id);
CREATE INDEX entry_person ON entry (person, kind, day);

INSERT INTO observation_002
SELECT
    reading, id, 0, athlete, role, kind,
    (SELECT json_group_array(id) FROM (SELECT id FROM term WHERE observation = o.id AND sort = 'technique' ORDER BY place)),
    (SELECT json_group_array(id) FROM (SELECT id FROM term WHERE observation = o.id AND sort = 'fault' ORDER BY place)),
    (SELECT json_group_array(id) FROM (SELECT id FROM term WHERE observation = o.id AND sort = 'fix' ORDER BY place)),
    why, unlisted, start_ms, end_ms, footage_ms, round, again, quote, confidence
FROM observation o ORDER BY o.rowid;
INSERT INTO entry
SELECT
    NULL, o.id, r.recording, c.day, old.person, NULL, NULL, o.id, o.athlete, o.role, o.kind, o.techniques, o.faults, o.fixes,
    o.why, o.unlisted, o.start_ms, o.end_ms, o.footage_ms, o.round, o.again, o.quote, o.confidence
FROM observation_002 o
JOIN observation old ON old.id = o.id
JOIN reading r ON r.id = o.reading
JOIN recording c ON c.sha256 = r.recording
ORDER BY o.rowid;

DROP TRIGGER observation_gone;
DROP TABLE observation_words;
DROP TABLE observation_search;
DROP TABLE term;
DROP TABLE observation;
ALTER TABLE observation_002 RENAME TO observation;
