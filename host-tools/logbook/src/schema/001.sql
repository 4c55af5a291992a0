-- An entry's number is what a person types; AUTOINCREMENT never gives one twice.
CREATE TABLE entries (
    number   INTEGER PRIMARY KEY AUTOINCREMENT,
    trip     TEXT                       -- name of the trip; NULL for an entry from elsewhere
) STRICT;
CREATE INDEX entries_by_trip ON entries (trip);

CREATE TABLE drafts (
    number   INTEGER PRIMARY KEY REFERENCES entries (number) ON DELETE CASCADE,
    on_s     REAL NOT NULL,             -- seconds of trip time
    data     TEXT NOT NULL              -- JSON: every value with doubts and evidence
) STRICT;

CREATE TABLE contacts (
    number   INTEGER PRIMARY KEY REFERENCES entries (number) ON DELETE CASCADE,
    revision INTEGER NOT NULL,          -- counts the changes, from 1
    call     TEXT NOT NULL,
    on_utc   TEXT,                      -- RFC 3339 with milliseconds, so that text order is time order
    data     TEXT NOT NULL              -- JSON: the contact
) STRICT;
CREATE INDEX contacts_by_call ON contacts (call, on_utc);
CREATE INDEX contacts_by_time ON contacts (on_utc);

CREATE TABLE exports (
    id       INTEGER PRIMARY KEY,
    at_utc   TEXT NOT NULL,
    format   TEXT NOT NULL,
    path     TEXT NOT NULL
) STRICT;

CREATE TABLE exported (
    export   INTEGER NOT NULL REFERENCES exports (id) ON DELETE CASCADE,
    number   INTEGER NOT NULL REFERENCES entries (number) ON DELETE CASCADE,
    revision INTEGER NOT NULL,          -- of the contact as it went out
    PRIMARY KEY (export, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX exported_by_number ON exported (number);

-- Every change, so that every one can be undone. No reference to entries:
-- what became of a removed draft is kept as well.
CREATE TABLE history (
    id       INTEGER PRIMARY KEY,
    at_utc   TEXT NOT NULL,
    who      TEXT NOT NULL,             -- 'person' or 'draft'
    number   INTEGER NOT NULL,
    before   TEXT,                      -- JSON
    after    TEXT                       -- JSON
) STRICT;
CREATE INDEX history_by_number ON history (number);
