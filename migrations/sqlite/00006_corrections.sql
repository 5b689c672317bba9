-- Which entry a correction corrects, read out of its body, so that a page of a
-- long book finds what corrects its entries without reading all of it.

-- +goose Up
ALTER TABLE entries ADD COLUMN corrects INTEGER GENERATED ALWAYS AS (CASE WHEN kind = 'corrected' THEN json_extract(body, '$.entry') END) VIRTUAL;
CREATE INDEX entries_corrections ON entries (roll, corrects, number) WHERE corrects IS NOT NULL;

-- +goose Down
DROP INDEX entries_corrections;
ALTER TABLE entries DROP COLUMN corrects;
