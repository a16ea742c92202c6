-- Who people are: not part of any chain, so that someone can be forgotten.
CREATE TABLE people (
    workshop TEXT NOT NULL,
    person TEXT NOT NULL,
    details TEXT NOT NULL CHECK (json_valid(details)),
    PRIMARY KEY (workshop, person)
) STRICT, WITHOUT ROWID;
