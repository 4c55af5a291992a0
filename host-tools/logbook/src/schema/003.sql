-- What a person said of an entry on the way to a decision: words typed over the
-- draft's, put off, no contact, shaped by hand.
CREATE TABLE reviews (
    number   INTEGER PRIMARY KEY REFERENCES entries (number) ON DELETE CASCADE,
    data     TEXT NOT NULL              -- JSON
) STRICT;
