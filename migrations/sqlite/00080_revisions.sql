-- Counts the changes of what is set up in the works and read for nearly every
-- answer, so that whoever has read it once need not read it again. Whatever
-- writes to those tables counts.

-- +goose Up
CREATE TABLE revisions (
    name     TEXT    NOT NULL PRIMARY KEY,
    revision INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO revisions (name, revision) VALUES ('settings', 1);

-- +goose StatementBegin
CREATE TRIGGER count_mills_insert AFTER INSERT ON mills
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_mills_update AFTER UPDATE ON mills
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_mills_delete AFTER DELETE ON mills
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_stands_insert AFTER INSERT ON stands
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_stands_update AFTER UPDATE ON stands
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_stands_delete AFTER DELETE ON stands
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_grades_insert AFTER INSERT ON grades
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_grades_update AFTER UPDATE ON grades
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_grades_delete AFTER DELETE ON grades
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_practices_insert AFTER INSERT ON practices
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_practices_update AFTER UPDATE ON practices
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_practices_delete AFTER DELETE ON practices
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_chocks_insert AFTER INSERT ON chocks
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_chocks_update AFTER UPDATE ON chocks
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER count_chocks_delete AFTER DELETE ON chocks
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER count_mills_insert;
DROP TRIGGER count_mills_update;
DROP TRIGGER count_mills_delete;
DROP TRIGGER count_stands_insert;
DROP TRIGGER count_stands_update;
DROP TRIGGER count_stands_delete;
DROP TRIGGER count_grades_insert;
DROP TRIGGER count_grades_update;
DROP TRIGGER count_grades_delete;
DROP TRIGGER count_practices_insert;
DROP TRIGGER count_practices_update;
DROP TRIGGER count_practices_delete;
DROP TRIGGER count_chocks_insert;
DROP TRIGGER count_chocks_update;
DROP TRIGGER count_chocks_delete;
DROP TABLE revisions;
