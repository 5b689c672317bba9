-- Counts the changes of what is set up in the works and read for nearly every
-- answer, so that whoever has read it once need not read it again. Whatever
-- writes to those tables counts.

-- +goose Up
CREATE TABLE revisions (
    name     TEXT COLLATE "C" NOT NULL PRIMARY KEY,
    revision BIGINT NOT NULL
);
INSERT INTO revisions (name, revision) VALUES ('settings', 1);

-- +goose StatementBegin
CREATE FUNCTION count_settings() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    UPDATE revisions SET revision = revision + 1 WHERE name = 'settings';
    RETURN NULL;
END;
$$;
-- +goose StatementEnd
CREATE TRIGGER count_mills AFTER INSERT OR UPDATE OR DELETE ON mills FOR EACH STATEMENT EXECUTE FUNCTION count_settings();
CREATE TRIGGER count_stands AFTER INSERT OR UPDATE OR DELETE ON stands FOR EACH STATEMENT EXECUTE FUNCTION count_settings();
CREATE TRIGGER count_grades AFTER INSERT OR UPDATE OR DELETE ON grades FOR EACH STATEMENT EXECUTE FUNCTION count_settings();
CREATE TRIGGER count_practices AFTER INSERT OR UPDATE OR DELETE ON practices FOR EACH STATEMENT EXECUTE FUNCTION count_settings();
CREATE TRIGGER count_chocks AFTER INSERT OR UPDATE OR DELETE ON chocks FOR EACH STATEMENT EXECUTE FUNCTION count_settings();

-- +goose Down
DROP TRIGGER count_mills ON mills;
DROP TRIGGER count_stands ON stands;
DROP TRIGGER count_grades ON grades;
DROP TRIGGER count_practices ON practices;
DROP TRIGGER count_chocks ON chocks;
DROP FUNCTION count_settings();
DROP TABLE revisions;
