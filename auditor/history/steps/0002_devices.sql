-- What became of each device, and the hashes of its captures; a device of which nothing changed stands once.
CREATE TABLE device (
  id INTEGER PRIMARY KEY,
  name TEXT NOT NULL,
  outcome TEXT NOT NULL,
  verdict TEXT NOT NULL,
  complete INTEGER NOT NULL
);

CREATE TABLE capture (
  device INTEGER NOT NULL REFERENCES device (id),
  file TEXT NOT NULL,
  sha256 BLOB NOT NULL,
  PRIMARY KEY (device, file)
) WITHOUT ROWID;

CREATE TABLE run_device (
  run INTEGER NOT NULL REFERENCES run (id),
  device INTEGER NOT NULL REFERENCES device (id),
  PRIMARY KEY (run, device)
) WITHOUT ROWID;
CREATE INDEX run_of_device ON run_device (device);
