-- Answers, the stack and replaced parts are steps of new kinds: "answered" (text), "stack-placed"
-- (JSON), "stack-taken" (the list), "part-replaced" (number: the part's place in the plan; JSON).
-- A remark stands beside its attempt, so that an attempt without one costs nothing.

CREATE TABLE attempt_remark (
    attempt INTEGER PRIMARY KEY REFERENCES attempt,
    text    TEXT NOT NULL
) STRICT;
