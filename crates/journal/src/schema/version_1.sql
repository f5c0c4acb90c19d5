CREATE TABLE word (
  id INTEGER PRIMARY KEY,
  text TEXT NOT NULL UNIQUE
) STRICT;
CREATE TABLE session (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL UNIQUE,          -- the same wherever the journal is copied
  player TEXT NOT NULL,
  began_ms INTEGER NOT NULL,          -- since 1970, UTC
  offset_s INTEGER NOT NULL,          -- of the clock on the wall, ahead of UTC
  program TEXT NOT NULL
) STRICT;
CREATE TABLE entry (
  session INTEGER NOT NULL REFERENCES session(id),
  number INTEGER NOT NULL,            -- runs from 1 without a hole in each session
  at_ms INTEGER NOT NULL,
  offset_s INTEGER NOT NULL,
  by TEXT NOT NULL CHECK (by IN ('player', 'built-in', 'recording')),
  kind TEXT NOT NULL CHECK (kind IN ('began', 'try', 'run', 'ended')),
  what INTEGER NOT NULL REFERENCES word(id), -- the drill or the run; of an end: done, left
  harp INTEGER NOT NULL REFERENCES word(id), -- key and tuning
  PRIMARY KEY (session, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE try (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  item INTEGER NOT NULL,
  note INTEGER NOT NULL,
  attempt INTEGER NOT NULL,
  way INTEGER NOT NULL REFERENCES word(id),
  asked_cents REAL NOT NULL,
  hold_ms INTEGER NOT NULL,
  in_tune_cents REAL NOT NULL,
  outcome INTEGER NOT NULL REFERENCES word(id),
  off_cents REAL,
  depth_semitones REAL,
  reach_ms INTEGER,
  held_ms INTEGER,
  spread_cents REAL,
  drift_cents_per_s REAL,
  overshoot_cents REAL,
  sigma_cents REAL,
  level_spread_db REAL,
  hnr_db REAL,
  vibrato_hz REAL,
  vibrato_cents REAL,
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES entry(session, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE run (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  rhythm INTEGER NOT NULL REFERENCES word(id),
  tempo REAL NOT NULL,
  in_tune_cents REAL NOT NULL,
  timed INTEGER NOT NULL,
  asked INTEGER NOT NULL,
  played INTEGER NOT NULL,
  in_pitch INTEGER NOT NULL,
  in_time INTEGER NOT NULL,
  right INTEGER NOT NULL,
  clean INTEGER NOT NULL,
  late_ms REAL,
  spread_ms REAL,
  uneven_ms REAL,
  played_tempo REAL,
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES entry(session, number)
) STRICT, WITHOUT ROWID;
CREATE TABLE run_note (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  place INTEGER NOT NULL,             -- in the run, from 0
  bar INTEGER NOT NULL,
  way INTEGER NOT NULL REFERENCES word(id),
  asked_ms INTEGER NOT NULL,
  played_ms INTEGER,
  late_ms INTEGER,
  tenths_of_cents INTEGER,
  outcome INTEGER NOT NULL REFERENCES word(id),
  right INTEGER NOT NULL,
  PRIMARY KEY (session, number, place),
  FOREIGN KEY (session, number) REFERENCES run(session, number)
) STRICT, WITHOUT ROWID;
CREATE INDEX entry_at ON entry (at_ms);
