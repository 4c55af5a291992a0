-- What a person did, each as a whole: it can be undone as a whole.
CREATE TABLE actions (
    id        INTEGER PRIMARY KEY AUTOINCREMENT,
    at_utc    TEXT NOT NULL,
    who       TEXT NOT NULL,            -- 'person', 'draft' or 'import'
    what      TEXT NOT NULL,            -- in people's words
    undoes    INTEGER REFERENCES actions (id),
    undone_by INTEGER REFERENCES actions (id)
) STRICT;
INSERT INTO actions (id, at_utc, who, what)
    SELECT id, at_utc, who,
           CASE who WHEN 'person' THEN 'confirmed entry ' ELSE 'drafted entry ' END || number
    FROM history;

-- The history by actions. A part is 'entry' (that it is there, and where it is
-- from), 'draft' or 'contact'; before and after are NULL where there is none.
CREATE TABLE changes (
    id       INTEGER PRIMARY KEY,
    action   INTEGER NOT NULL REFERENCES actions (id),
    number   INTEGER NOT NULL,
    part     TEXT NOT NULL,
    before   TEXT,                      -- JSON
    after    TEXT                       -- JSON
) STRICT;
INSERT INTO changes (id, action, number, part, before, after)
    SELECT id, id, number, CASE who WHEN 'person' THEN 'contact' ELSE 'draft' END, before, after
    FROM history;
DROP TABLE history;
CREATE INDEX changes_by_number ON changes (number);
CREATE INDEX changes_by_action ON changes (action);

-- Entries from another log.
CREATE TABLE imports (
    id       INTEGER PRIMARY KEY,
    at_utc   TEXT NOT NULL,
    path     TEXT NOT NULL
) STRICT;
ALTER TABLE entries ADD COLUMN import INTEGER REFERENCES imports (id);
ALTER TABLE entries ADD COLUMN digest TEXT;     -- SHA-256 of the contact as it came
CREATE UNIQUE INDEX entries_by_digest ON entries (digest) WHERE digest IS NOT NULL;

-- What entries are listed and searched by: the contact's word, or else the
-- draft's. Triggers keep it, so that no writer can forget it.
ALTER TABLE entries ADD COLUMN at_utc TEXT;     -- as contacts.on_utc
ALTER TABLE entries ADD COLUMN on_s REAL;
ALTER TABLE entries ADD COLUMN call TEXT;
ALTER TABLE entries ADD COLUMN band TEXT;
ALTER TABLE entries ADD COLUMN station TEXT;

CREATE VIEW listed AS
    SELECT number,
           coalesce(contacts.on_utc,
                    strftime('%Y-%m-%dT%H:%M:%fZ', drafts.data ->> '$.on.value')) AS at_utc,
           drafts.on_s AS on_s,
           coalesce(contacts.call, drafts.data ->> '$.call.value') AS call,
           coalesce(contacts.data ->> '$.band', drafts.data ->> '$.band.value') AS band,
           coalesce(contacts.data ->> '$.station', drafts.data ->> '$.station') AS station
    FROM entries LEFT JOIN drafts USING (number) LEFT JOIN contacts USING (number);

CREATE TRIGGER draft_comes AFTER INSERT ON drafts BEGIN
    UPDATE entries SET (at_utc, on_s, call, band, station) =
        (SELECT at_utc, on_s, call, band, station FROM listed WHERE number = new.number)
    WHERE number = new.number;
END;
CREATE TRIGGER draft_changes AFTER UPDATE ON drafts BEGIN
    UPDATE entries SET (at_utc, on_s, call, band, station) =
        (SELECT at_utc, on_s, call, band, station FROM listed WHERE number = new.number)
    WHERE number = new.number;
END;
CREATE TRIGGER draft_goes AFTER DELETE ON drafts BEGIN
    UPDATE entries SET (at_utc, on_s, call, band, station) =
        (SELECT at_utc, on_s, call, band, station FROM listed WHERE number = old.number)
    WHERE number = old.number;
END;
CREATE TRIGGER contact_comes AFTER INSERT ON contacts BEGIN
    UPDATE entries SET (at_utc, on_s, call, band, station) =
        (SELECT at_utc, on_s, call, band, station FROM listed WHERE number = new.number)
    WHERE number = new.number;
END;
CREATE TRIGGER contact_changes AFTER UPDATE ON contacts BEGIN
    UPDATE entries SET (at_utc, on_s, call, band, station) =
        (SELECT at_utc, on_s, call, band, station FROM listed WHERE number = new.number)
    WHERE number = new.number;
END;
CREATE TRIGGER contact_goes AFTER DELETE ON contacts BEGIN
    UPDATE entries SET (at_utc, on_s, call, band, station) =
        (SELECT at_utc, on_s, call, band, station FROM listed WHERE number = old.number)
    WHERE number = old.number;
END;
UPDATE entries SET (at_utc, on_s, call, band, station) =
    (SELECT at_utc, on_s, call, band, station FROM listed
     WHERE listed.number = entries.number);
-- Holds all that a list chooses by, in the order of the list.
CREATE INDEX entries_in_order
    ON entries (at_utc IS NULL, at_utc, trip, on_s, number, call, band, station, import);

-- Worked before, and duplicates: the station without strokes.
ALTER TABLE contacts ADD COLUMN home TEXT NOT NULL DEFAULT '';
UPDATE contacts SET home = home_call(call);
ALTER TABLE contacts ADD COLUMN band TEXT;
ALTER TABLE contacts ADD COLUMN mode TEXT;
UPDATE contacts SET band = data ->> '$.band', mode = data ->> '$.mode';
CREATE INDEX contacts_by_home ON contacts (home, on_utc, band, mode);
DROP INDEX contacts_by_call;
DROP INDEX contacts_by_time;

-- Numbers are never given twice, so what went out stays true of an entry that an
-- undo takes away and brings back.
CREATE TABLE sent (
    export   INTEGER NOT NULL REFERENCES exports (id) ON DELETE CASCADE,
    number   INTEGER NOT NULL,
    revision INTEGER NOT NULL,          -- of the contact as it went out
    format   TEXT NOT NULL,
    PRIMARY KEY (export, number)
) STRICT, WITHOUT ROWID;
INSERT INTO sent SELECT export, number, revision, format
    FROM exported JOIN exports ON exports.id = exported.export;
DROP TABLE exported;
CREATE INDEX sent_by_number ON sent (number, format, revision);
