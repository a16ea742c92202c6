CREATE TABLE record (
    workshop TEXT NOT NULL,
    position INTEGER NOT NULL CHECK (position >= 1),
    -- Microseconds after 1970-01-01T00:00:00Z.
    recorded INTEGER NOT NULL,
    day TEXT NOT NULL,
    who TEXT NOT NULL,
    name TEXT NOT NULL,
    version INTEGER NOT NULL CHECK (version BETWEEN 0 AND 65535),
    payload TEXT NOT NULL CHECK (json_valid(payload)),
    previous BLOB CHECK (previous IS NULL OR length(previous) = 32),
    hash BLOB NOT NULL CHECK (length(hash) = 32),
    PRIMARY KEY (workshop, position),
    CHECK ((position = 1) = (previous IS NULL))
) STRICT, WITHOUT ROWID;

CREATE TRIGGER record_is_never_changed BEFORE UPDATE ON record
BEGIN
    SELECT RAISE(ABORT, 'a record of the journal is never changed');
END;

CREATE TRIGGER record_is_never_removed BEFORE DELETE ON record
BEGIN
    SELECT RAISE(ABORT, 'a record of the journal is never removed');
END;

-- Also catches INSERT OR REPLACE, which runs no DELETE trigger.
CREATE TRIGGER record_follows_the_last BEFORE INSERT ON record
WHEN NEW.previous IS NOT (
        SELECT hash FROM record
        WHERE workshop = NEW.workshop AND position = NEW.position - 1
    )
    OR EXISTS (
        SELECT 1 FROM record
        WHERE workshop = NEW.workshop AND position >= NEW.position
    )
BEGIN
    SELECT RAISE(ABORT, 'a record of the journal follows the last one');
END;
