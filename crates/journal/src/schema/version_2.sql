-- No query asks for a moment.
DROP INDEX entry_at;
-- More kinds of entries, and some of them without a harp.
CREATE TABLE entry_2 (
  session INTEGER NOT NULL REFERENCES session(id),
  number INTEGER NOT NULL,            -- runs from 1 without a hole in each session
  at_ms INTEGER NOT NULL,             -- since 1970, UTC
  offset_s INTEGER NOT NULL,          -- of the clock on the wall, ahead of UTC
  by TEXT NOT NULL CHECK (by IN ('player', 'built-in', 'recording')),
  kind TEXT NOT NULL CHECK (kind IN ('began', 'try', 'run', 'ended', 'remark', 'delay')),
  what INTEGER NOT NULL REFERENCES word(id), -- the drill or the run; of an end: done, left; of a remark: try, day; of a delay: the microphone
  harp INTEGER REFERENCES word(id),   -- key and tuning; null where no harp is in the hand
  PRIMARY KEY (session, number)
) STRICT, WITHOUT ROWID;
INSERT INTO entry_2 SELECT * FROM entry;
DROP TABLE entry;
ALTER TABLE entry_2 RENAME TO entry;
CREATE TABLE remark (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  about INTEGER,                      -- number of the entry of this session that it is about; null: the day
  day INTEGER NOT NULL,               -- of the player's that it is about, since 1970
  text TEXT NOT NULL,
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES entry(session, number),
  FOREIGN KEY (session, about) REFERENCES entry(session, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE delay (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  input TEXT NOT NULL,                -- the microphone
  output TEXT NOT NULL,               -- the loudspeaker
  delay_ms REAL NOT NULL,             -- of a sound on its way from the one to the other through both devices
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES entry(session, number)
) STRICT, WITHOUT ROWID;
-- What follows is worked out from the rows above and can be worked out again; this is the number of the rule.
CREATE TABLE derived (
  rule INTEGER NOT NULL
) STRICT;
INSERT INTO derived VALUES (0);
-- Sums are whole thousandths, so that they do not depend on the order in which they were added.
CREATE TABLE note_day (
  player TEXT NOT NULL,
  day INTEGER NOT NULL,               -- of the player's, since 1970
  way INTEGER NOT NULL,
  tries INTEGER NOT NULL,
  landed INTEGER NOT NULL,
  measured INTEGER NOT NULL,
  thousandths INTEGER NOT NULL,       -- of a cent
  squared_thousandths INTEGER NOT NULL, -- of a cent squared
  PRIMARY KEY (player, day, way)
) STRICT, WITHOUT ROWID;
CREATE TABLE thing_day (
  player TEXT NOT NULL,
  day INTEGER NOT NULL,
  what INTEGER NOT NULL,
  counted INTEGER NOT NULL,
  good INTEGER NOT NULL,
  tempo REAL,                         -- of the last run
  last_ms INTEGER,                    -- when that was
  PRIMARY KEY (player, day, what)
) STRICT, WITHOUT ROWID;
CREATE TABLE pace_day (
  player TEXT NOT NULL,
  day INTEGER NOT NULL,
  what INTEGER NOT NULL,
  tempo REAL NOT NULL,
  runs INTEGER NOT NULL,
  clean INTEGER NOT NULL,
  PRIMARY KEY (player, day, what, tempo)
) STRICT, WITHOUT ROWID;
CREATE TABLE played_day (
  player TEXT NOT NULL,
  day INTEGER NOT NULL,
  milliseconds INTEGER NOT NULL,
  PRIMARY KEY (player, day)
) STRICT, WITHOUT ROWID;
-- How the pitch went in the last tries at each way: neither raw rows nor to be worked out from them, and let go of in time.
CREATE TABLE trace (
  player TEXT NOT NULL,
  way INTEGER NOT NULL,
  at_ms INTEGER NOT NULL,
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  tenths_of_cents BLOB NOT NULL,      -- from the target, 16 bits each, the low byte first, one every 20 ms; -32768: nothing
  PRIMARY KEY (player, way, at_ms, session, number)
) STRICT, WITHOUT ROWID;
