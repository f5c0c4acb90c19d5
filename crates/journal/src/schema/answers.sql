-- One more kind of entries: answers to what was asked by ear.
CREATE TABLE entry_4 (
  session INTEGER NOT NULL REFERENCES session(id),
  number INTEGER NOT NULL,            -- runs from 1 without a hole in each session
  at_ms INTEGER NOT NULL,             -- since 1970, UTC
  offset_s INTEGER NOT NULL,          -- of the clock on the wall, ahead of UTC
  by TEXT NOT NULL CHECK (by IN ('player', 'built-in', 'recording')),
  kind TEXT NOT NULL CHECK (kind IN ('began', 'try', 'run', 'answer', 'ended', 'remark', 'delay')),
  what INTEGER NOT NULL REFERENCES word(id), -- the drill, the run, what is asked by ear; of an end: done, left; of a remark: try, day; of a delay: the microphone
  harp INTEGER REFERENCES word(id),   -- key and tuning; null where no harp is in the hand
  PRIMARY KEY (session, number)
) STRICT, WITHOUT ROWID;
INSERT INTO entry_4 SELECT * FROM entry;
DROP TABLE entry;
ALTER TABLE entry_4 RENAME TO entry;
CREATE TABLE answer (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  question INTEGER NOT NULL,          -- of the exercise, from 1
  attempt INTEGER NOT NULL,           -- at this question, from 1
  scale INTEGER NOT NULL REFERENCES word(id), -- on its tonic
  elsewhere INTEGER REFERENCES word(id), -- the tonic on which a call was to be answered, if that was another one
  asked INTEGER NOT NULL REFERENCES word(id), -- as tab, notes apart by blanks
  played INTEGER REFERENCES word(id), -- likewise
  notes INTEGER NOT NULL,             -- asked
  right INTEGER NOT NULL,             -- how many of them were right
  result TEXT NOT NULL CHECK (result IN ('right', 'wrong', 'cannot tell', 'passed')),
  off_cents REAL,                     -- of a note that was held, from what was asked
  in_tune_cents REAL NOT NULL,
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES entry(session, number)
) STRICT, WITHOUT ROWID;
