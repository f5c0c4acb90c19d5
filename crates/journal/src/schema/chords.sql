-- A try at a chord has its row here and none in try.
CREATE TABLE chord (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  item INTEGER NOT NULL,
  attempt INTEGER NOT NULL,
  asked INTEGER NOT NULL REFERENCES word(id), -- as tab, holes apart by blanks
  hold_ms INTEGER NOT NULL,
  outcome INTEGER NOT NULL REFERENCES word(id),
  heard INTEGER REFERENCES word(id),  -- the reeds that surely sounded, as tab
  held_ms INTEGER NOT NULL,
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES entry(session, number)
) STRICT, WITHOUT ROWID;
-- Whether a note that was to sound alone did so.
CREATE TABLE clean (
  session INTEGER NOT NULL,
  number INTEGER NOT NULL,
  outcome INTEGER NOT NULL REFERENCES word(id), -- clean, leaked in, cannot tell
  hole INTEGER,                       -- that leaked in
  below_db REAL,                      -- its level below the note
  PRIMARY KEY (session, number),
  FOREIGN KEY (session, number) REFERENCES try(session, number)
) STRICT, WITHOUT ROWID;
