-- Places run from the newest day to the oldest: FTS5 walks its lists forwards twice as fast as backwards.
UPDATE entry_words SET place = ((9000000 - (place >> 32)) << 32) + (place & 0xFFFFFFFF);
INSERT INTO entry_search (entry_search) VALUES ('rebuild');

DROP VIEW entry_wording;
CREATE VIEW entry_wording AS
SELECT
    number,
    ((9000000 - CAST(julianday(day) AS INTEGER)) << 32) + number AS place,
    trim(indexed_words(quote)
        || coalesce(' athlete_' || person, '') || ' kind_' || kind || coalesce(' round_' || round, '')
        || coalesce((SELECT group_concat(' is_' || replace(value, '-', '_'), '') FROM (
            SELECT value FROM json_each(techniques) UNION
            SELECT value FROM json_each(faults) UNION
            SELECT value FROM json_each(fixes))), '')) AS words
FROM entry WHERE role = 'athlete' AND verdict IS NOT 'struck';

DROP TRIGGER entry_changed;
CREATE TRIGGER entry_changed AFTER UPDATE OF day, verdict, role, kind, techniques, faults, fixes, round, quote ON entry BEGIN
    DELETE FROM entry_words WHERE place = ((9000000 - CAST(julianday(old.day) AS INTEGER)) << 32) + old.number;
    INSERT INTO entry_words SELECT place, words FROM entry_wording WHERE number = new.number;
END;
DROP TRIGGER entry_moved;
CREATE TRIGGER entry_moved AFTER UPDATE OF person ON entry WHEN old.person IS NOT new.person BEGIN
    UPDATE entry_words SET words = trim(replace(
        replace(replace(
            ' ' || words || ' ',
            coalesce(' athlete_' || old.person || ' ', ''), ' '),
            coalesce(' athlete_' || new.person || ' ', ''), ' '),
        ' kind_' || new.kind || ' ',
        coalesce(' athlete_' || new.person, '') || ' kind_' || new.kind || ' '))
    WHERE place = ((9000000 - CAST(julianday(new.day) AS INTEGER)) << 32) + new.number;
END;
DROP TRIGGER entry_out;
CREATE TRIGGER entry_out AFTER DELETE ON entry BEGIN
    DELETE FROM entry_words WHERE place = ((9000000 - CAST(julianday(old.day) AS INTEGER)) << 32) + old.number;
END;
