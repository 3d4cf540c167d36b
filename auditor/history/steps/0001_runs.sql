-- Sites, their audits, and what was found. What stays the same from run to run stands once; runs refer to it.
-- Days are ordinals: day 1 is the first of January of year 1.
PRAGMA application_id = 1635083369;

CREATE TABLE site (
  id INTEGER PRIMARY KEY,
  key TEXT NOT NULL UNIQUE,        -- the plan's reference, or else the site's name
  name TEXT NOT NULL,
  reference TEXT NOT NULL
);

CREATE TABLE plan (
  id INTEGER PRIMARY KEY,
  sha256 BLOB NOT NULL,
  file TEXT NOT NULL,
  UNIQUE (sha256, file)
);

CREATE TABLE run (
  id INTEGER PRIMARY KEY,          -- in the order of time
  site INTEGER NOT NULL REFERENCES site (id),
  day INTEGER NOT NULL,
  at TEXT NOT NULL,                -- ISO 8601 with offset
  occasion TEXT NOT NULL,
  verdict TEXT NOT NULL,
  complete INTEGER NOT NULL,
  plan INTEGER NOT NULL REFERENCES plan (id),
  tool TEXT NOT NULL,
  planned INTEGER NOT NULL,
  conforming INTEGER NOT NULL,
  nonconforming INTEGER NOT NULL,
  unverified INTEGER NOT NULL,
  unplanned INTEGER NOT NULL,
  approved INTEGER NOT NULL,
  findings INTEGER NOT NULL,       -- all that were seen, the approved ones among them
  exposure INTEGER NOT NULL,       -- those that count, by consequence
  outage INTEGER NOT NULL,
  upkeep INTEGER NOT NULL
);
CREATE INDEX run_of_site ON run (site, id);

CREATE TABLE finding (
  id INTEGER PRIMARY KEY,
  key TEXT NOT NULL,               -- the finding's id in reports
  device TEXT NOT NULL,
  setting TEXT NOT NULL,
  kind TEXT NOT NULL,
  expected TEXT NOT NULL,          -- JSON
  observed TEXT NOT NULL,          -- JSON
  consequence TEXT NOT NULL,
  effect TEXT NOT NULL,
  approved TEXT NOT NULL           -- JSON
);
CREATE INDEX finding_by_key ON finding (key);

CREATE TABLE run_finding (
  run INTEGER NOT NULL REFERENCES run (id),
  finding INTEGER NOT NULL REFERENCES finding (id),
  seen INTEGER NOT NULL,           -- 0: the run cannot tell whether it is still there
  since INTEGER NOT NULL,          -- the day it was found first without being gone since
  before INTEGER,                  -- the last day it was found before that
  PRIMARY KEY (run, finding)
) WITHOUT ROWID;
CREATE INDEX run_of_finding ON run_finding (finding);
