-- What search looks in: for each athlete's entry that is not struck, the words of its quote and tags for its facts.
-- It follows from entry by triggers alone. A place is the day (in days) and the entry's number, so places run by time.
CREATE TABLE entry_words (place INTEGER PRIMARY KEY, words TEXT NOT NULL);
CREATE VIRTUAL TABLE entry_search USING fts5 (
    words, content = 'entry_words', content_rowid = 'place', columnsize = 0, tokenize = "unicode61 tokenchars '_'"
);
-- Each word and tag, with the number of notes that have it.
CREATE TABLE vocabulary (word TEXT PRIMARY KEY, notes INTEGER NOT NULL) WITHOUT ROWID;

CREATE TRIGGER entry_words_in AFTER INSERT ON entry_words BEGIN
    INSERT INTO entry_search (rowid, words) VALUES (new.place, new.words);
    INSERT INTO vocabulary
    SELECT DISTINCT value, 1 FROM json_each('["' || replace(new.words, ' ', '","') || '"]') WHERE true
    ON CONFLICT DO UPDATE SET notes = notes + 1;
END;
CREATE TRIGGER entry_words_out AFTER DELETE ON entry_words BEGIN
    INSERT INTO entry_search (entry_search, rowid, words) VALUES ('delete', old.place, old.words);
    UPDATE vocabulary SET notes = notes - 1
    WHERE word IN (SELECT value FROM json_each('["' || replace(old.words, ' ', '","') || '"]'));
    DELETE FROM vocabulary
    WHERE notes = 0 AND word IN (SELECT value FROM json_each('["' || replace(old.words, ' ', '","') || '"]'));
END;

CREATE VIEW entry_wording AS
SELECT
    number,
    (CAST(julianday(day) AS INTEGER) << 32) + number AS place,
    trim(indexed_words(quote)
        || coalesce(' athlete_' || person, '') || ' kind_' || kind || coalesce(' round_' || round, '')
        || coalesce((SELECT group_concat(' is_' || replace(value, '-', '_'), '') FROM (
            SELECT value FROM json_each(techniques) UNION
            SELECT value FROM json_each(faults) UNION
            SELECT value FROM json_each(fixes))), '')) AS words
FROM entry WHERE role = 'athlete' AND verdict IS NOT 'struck';
CREATE TRIGGER entry_in AFTER INSERT ON entry BEGIN
    INSERT INTO entry_words SELECT place, words FROM entry_wording WHERE number = new.number;
END;
CREATE TRIGGER entry_changed AFTER UPDATE OF
    day, person, verdict, role, kind, techniques, faults, fixes, round, quote
ON entry BEGIN
    DELETE FROM entry_words WHERE place = (CAST(julianday(old.day) AS INTEGER) << 32) + old.number;
    INSERT INTO entry_words SELECT place, words FROM entry_wording WHERE number = new.number;
END;
CREATE TRIGGER entry_out AFTER DELETE ON entry BEGIN
    DELETE FROM entry_words WHERE place = (CAST(julianday(old.day) AS INTEGER) << 32) + old.number;
END;

INSERT INTO entry_words SELECT place, words FROM entry_wording ORDER BY place;
