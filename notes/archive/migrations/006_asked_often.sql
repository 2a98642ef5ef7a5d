-- When names are merged, entries change their person and nothing else: their words are not split anew.
DROP TRIGGER entry_changed;
CREATE TRIGGER entry_changed AFTER UPDATE OF day, verdict, role, kind, techniques, faults, fixes, round, quote ON entry BEGIN
    DELETE FROM entry_words WHERE place = (CAST(julianday(old.day) AS INTEGER) << 32) + old.number;
    INSERT INTO entry_words SELECT place, words FROM entry_wording WHERE number = new.number;
END;
-- The tag of the person stands before that of the kind. Where both triggers run, either may be first.
CREATE TRIGGER entry_moved AFTER UPDATE OF person ON entry WHEN old.person IS NOT new.person BEGIN
    UPDATE entry_words SET words = trim(replace(
        replace(replace(
            ' ' || words || ' ',
            coalesce(' athlete_' || old.person || ' ', ''), ' '),
            coalesce(' athlete_' || new.person || ' ', ''), ' '),
        ' kind_' || new.kind || ' ',
        coalesce(' athlete_' || new.person, '') || ' kind_' || new.kind || ' '))
    WHERE place = (CAST(julianday(new.day) AS INTEGER) << 32) + new.number;
END;
CREATE TRIGGER entry_words_changed AFTER UPDATE OF words ON entry_words WHEN old.words IS NOT new.words BEGIN
    INSERT INTO entry_search (entry_search, rowid, words) VALUES ('delete', old.place, old.words);
    INSERT INTO entry_search (rowid, words) VALUES (new.place, new.words);
    INSERT INTO vocabulary
    SELECT DISTINCT value, 1 FROM json_each('["' || replace(new.words, ' ', '","') || '"]') WHERE true
    ON CONFLICT DO UPDATE SET notes = notes + 1;
    UPDATE vocabulary SET notes = notes - 1
    WHERE word IN (SELECT value FROM json_each('["' || replace(old.words, ' ', '","') || '"]'));
    DELETE FROM vocabulary
    WHERE notes = 0 AND word IN (SELECT value FROM json_each('["' || replace(old.words, ' ', '","') || '"]'));
END;

-- What is asked of a recording most, beside its long transcript, so that this need not be read for it.
ALTER TABLE recording ADD COLUMN timed INTEGER GENERATED ALWAYS AS (json_extract(transcript, '$.timed')) VIRTUAL;
CREATE INDEX recording_facts ON recording (sha256, timed, name, day, added_at, footage);

-- Athletes' notes that nobody has judged: entries, and what the newest reading only offers.
CREATE VIEW unjudged AS
SELECT recording, id, confidence FROM entry WHERE role = 'athlete' AND verdict IS NULL
UNION ALL
SELECT n.recording, o.id, o.confidence FROM newest_reading n JOIN observation o ON o.reading = n.id
WHERE o.perhaps AND o.role = 'athlete'
AND NOT EXISTS (SELECT 1 FROM entry e WHERE e.recording = n.recording AND e.observation = o.id);
