-- The journal. Nothing in it is ever changed or deleted; the triggers hold
-- against whatever else opens the file. One row is one entry:
--   seq          its place in the chain, 1, 2, 3 ...
--   id           its ULID
--   received_ms  when it was accepted, ms since 1970 UTC
--   bytes        what its maker said, JSON in the form of RFC 8785
--   hash         SHA-256 of the hash before (as 64 hexadecimal digits) and bytes

-- +goose Up
CREATE TABLE entry (
    seq         INTEGER PRIMARY KEY,
    id          TEXT    NOT NULL UNIQUE CHECK (length(id) = 26),
    received_ms INTEGER NOT NULL,
    bytes       TEXT    NOT NULL,
    hash        BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
BEGIN
    SELECT RAISE(ABORT, 'the journal is append-only: an entry is never changed');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_is_never_deleted BEFORE DELETE ON entry
BEGIN
    SELECT RAISE(ABORT, 'the journal is append-only: an entry is never deleted');
END;
-- +goose StatementEnd

-- INSERT OR REPLACE deletes what it replaces without asking the trigger above.
-- +goose StatementBegin
CREATE TRIGGER entry_only_follows BEFORE INSERT ON entry
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq), 0) + 1 FROM entry)
    OR EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
BEGIN
    SELECT RAISE(ABORT, 'the journal is append-only: an entry only follows the last');
END;
-- +goose StatementEnd
