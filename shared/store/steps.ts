/**
 * The schema, as numbered steps: step N brings a file from `user_version` N - 1 to N. A step that has been released is
 * never changed; what changes later is a new step at the end.
 *
 * Every record belongs to a collective, and references between records carry the collective with them, so that no row can
 * point into another one. Times are ISO 8601 text in UTC, dates are ISO dates, money is whole minor units and a currency.
 */
export const schemaSteps: readonly string[] = [
  `
  CREATE TABLE collectives (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    name TEXT NOT NULL,
    name_key TEXT NOT NULL UNIQUE,
    settings TEXT NOT NULL
  ) STRICT;

  -- The last number given in each kind of numbered record; a number is never given twice.
  CREATE TABLE counters (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    kind TEXT NOT NULL,
    last INTEGER NOT NULL,
    PRIMARY KEY (collective, kind)
  ) STRICT, WITHOUT ROWID;

  CREATE TABLE models (
    id INTEGER PRIMARY KEY AUTOINCREMENT,
    collective INTEGER NOT NULL REFERENCES collectives (id),
    name TEXT NOT NULL,
    name_key TEXT NOT NULL,
    family TEXT NOT NULL,
    launched TEXT,
    new_price INTEGER,
    new_price_currency TEXT,
    by TEXT NOT NULL,
    at TEXT NOT NULL,
    UNIQUE (collective, name_key),
    UNIQUE (collective, id),
    CHECK ((new_price IS NULL) = (new_price_currency IS NULL))
  ) STRICT;

  CREATE TABLE sightings (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('phone', 'part')),
    model INTEGER NOT NULL,
    component TEXT,
    part_grade TEXT,
    grade INTEGER CHECK (grade BETWEEN -2 AND 2),
    storage INTEGER CHECK (storage > 0),
    price INTEGER NOT NULL CHECK (price > 0),
    currency TEXT NOT NULL,
    how TEXT NOT NULL CHECK (how IN ('sold', 'asked')),
    seen TEXT NOT NULL,
    note TEXT NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, number),
    FOREIGN KEY (collective, model) REFERENCES models (collective, id),
    CHECK ((kind = 'phone') = (grade IS NOT NULL)),
    CHECK ((kind = 'part') = (component IS NOT NULL)),
    CHECK ((kind = 'part') = (part_grade IS NOT NULL)),
    CHECK (kind = 'phone' OR storage IS NULL)
  ) STRICT;
  CREATE INDEX sightings_by_model ON sightings (collective, model, seen);
  CREATE INDEX sightings_by_date ON sightings (collective, seen);

  CREATE TABLE traces (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    family TEXT NOT NULL,
    model INTEGER,
    symptoms TEXT NOT NULL,
    started_by TEXT NOT NULL,
    at TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('open', 'ended')),
    revision INTEGER NOT NULL,
    PRIMARY KEY (collective, number),
    FOREIGN KEY (collective, model) REFERENCES models (collective, id)
  ) STRICT;
  CREATE INDEX traces_open ON traces (collective, state);
  CREATE INDEX traces_by_model ON traces (collective, model);

  CREATE TABLE trace_steps (
    collective INTEGER NOT NULL,
    trace INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    kind TEXT NOT NULL,
    ref TEXT NOT NULL,
    outcome TEXT,
    reading TEXT,
    by TEXT NOT NULL,
    at TEXT NOT NULL,
    undone INTEGER NOT NULL DEFAULT 0 CHECK (undone IN (0, 1)),
    PRIMARY KEY (collective, trace, seq),
    FOREIGN KEY (collective, trace) REFERENCES traces (collective, number)
  ) STRICT;

  CREATE TABLE choices (
    token TEXT PRIMARY KEY,
    collective INTEGER NOT NULL REFERENCES collectives (id),
    person TEXT,
    label TEXT NOT NULL,
    invoke TEXT NOT NULL,
    subject TEXT,
    revision INTEGER,
    made TEXT NOT NULL,
    used TEXT
  ) STRICT;
  CREATE INDEX choices_by_age ON choices (made);

  CREATE TABLE requests (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    id TEXT NOT NULL,
    reply TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, id)
  ) STRICT;
  CREATE INDEX requests_by_age ON requests (at);

  CREATE TABLE people (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    key TEXT NOT NULL,
    name TEXT NOT NULL,
    seen TEXT NOT NULL,
    PRIMARY KEY (collective, key)
  ) STRICT;
  `,
];
