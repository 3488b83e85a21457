/**
 * The schema, as numbered steps: step N brings a file from `user_version` N - 1 to N. A step that has been released is
 * never changed; what changes later is a new step at the end.
 *
 * Every record belongs to a collective, and references between records carry the collective with them, so that no row can
 * point into another one. Times are ISO 8601 text in UTC, dates are ISO dates, money is whole minor units and a currency.
 */
export const migrations: readonly string[] = [
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
  `
  -- Replies and choices are sealed from here on; what was kept in plain text goes.
  DELETE FROM requests;
  DELETE FROM choices;

  DROP INDEX sightings_by_model;
  CREATE INDEX sightings_by_model ON sightings (collective, model, kind, seen, number);

  -- A phone on its way through the bench. What happens to it is in job_entries; what is sealed opens with the key alone.
  CREATE TABLE jobs (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    model INTEGER,
    family TEXT NOT NULL,
    came TEXT NOT NULL CHECK (came IN ('given', 'bought', 'left', 'customer')),
    price INTEGER NOT NULL CHECK (price >= 0),
    currency TEXT NOT NULL,
    grade INTEGER NOT NULL CHECK (grade BETWEEN -2 AND 2),
    symptoms TEXT NOT NULL,
    imei TEXT,
    imei_last TEXT,
    trace INTEGER,
    promise TEXT NOT NULL,
    opened_by TEXT NOT NULL,
    opened_key TEXT NOT NULL,
    at TEXT NOT NULL,
    holder TEXT NOT NULL,
    holder_key TEXT NOT NULL,
    revision INTEGER NOT NULL,
    ended TEXT CHECK (ended IN ('restored', 'stripped', 'passed', 'handed-back')),
    ended_at TEXT,
    ending TEXT,
    PRIMARY KEY (collective, number),
    FOREIGN KEY (collective, model) REFERENCES models (collective, id),
    FOREIGN KEY (collective, trace) REFERENCES traces (collective, number),
    CHECK ((imei IS NULL) = (imei_last IS NULL)),
    CHECK ((ended IS NULL) = (ended_at IS NULL)),
    CHECK ((ended IS NULL) = (ending IS NULL))
  ) STRICT;
  CREATE INDEX jobs_open ON jobs (collective, ended, number);
  CREATE INDEX jobs_by_end ON jobs (collective, ended_at);
  CREATE INDEX jobs_by_holder ON jobs (collective, holder_key, ended);
  CREATE INDEX jobs_by_opener ON jobs (collective, opened_key);
  CREATE INDEX jobs_by_model ON jobs (collective, model);
  CREATE INDEX jobs_by_trace ON jobs (collective, trace);

  -- Only ever added to; what was wrong is struck out, with who and why.
  CREATE TABLE job_entries (
    collective INTEGER NOT NULL,
    job INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    entry TEXT NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    struck_by TEXT,
    struck_at TEXT,
    struck_why TEXT,
    PRIMARY KEY (collective, job, seq),
    FOREIGN KEY (collective, job) REFERENCES jobs (collective, number),
    CHECK ((struck_by IS NULL) = (struck_at IS NULL)),
    CHECK ((struck_by IS NULL) = (struck_why IS NULL))
  ) STRICT;
  CREATE INDEX job_entries_by_person ON job_entries (collective, by_key);

  -- What closed jobs taught, as counts, so that an answer costs the same however many jobs there were.
  CREATE TABLE fault_counts (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    family TEXT NOT NULL,
    fault TEXT NOT NULL,
    n REAL NOT NULL,
    PRIMARY KEY (collective, family, fault)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE family_jobs (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    family TEXT NOT NULL,
    closed INTEGER NOT NULL,
    confirmed INTEGER NOT NULL,
    PRIMARY KEY (collective, family)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE outcome_counts (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    step TEXT NOT NULL,
    fault TEXT NOT NULL,
    outcome TEXT NOT NULL,
    n REAL NOT NULL,
    PRIMARY KEY (collective, step, fault, outcome)
  ) STRICT, WITHOUT ROWID;

  -- The first eight digits of an IMEI say which model it is; they are kept apart from any job.
  CREATE TABLE tacs (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    tac TEXT NOT NULL,
    family TEXT NOT NULL,
    model INTEGER,
    jobs INTEGER NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, tac, family),
    FOREIGN KEY (collective, model) REFERENCES models (collective, id)
  ) STRICT;

  CREATE TABLE swaps (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    family TEXT NOT NULL,
    model INTEGER,
    component TEXT NOT NULL,
    grade TEXT NOT NULL,
    board TEXT NOT NULL CHECK (board IN ('same', 'another')),
    effect TEXT NOT NULL,
    saw TEXT NOT NULL,
    mended TEXT NOT NULL,
    job INTEGER,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    aside_by TEXT,
    aside_at TEXT,
    aside_why TEXT,
    PRIMARY KEY (collective, number),
    FOREIGN KEY (collective, model) REFERENCES models (collective, id),
    FOREIGN KEY (collective, job) REFERENCES jobs (collective, number),
    CHECK ((aside_by IS NULL) = (aside_at IS NULL)),
    CHECK ((aside_by IS NULL) = (aside_why IS NULL))
  ) STRICT;
  CREATE INDEX swaps_by_component ON swaps (collective, component, number);
  -- What /paired counts: reports of a component of another phone that are not set aside.
  CREATE TABLE swap_counts (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    component TEXT NOT NULL,
    family TEXT NOT NULL,
    effect TEXT NOT NULL,
    n INTEGER NOT NULL,
    PRIMARY KEY (collective, component, family, effect)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX swaps_by_person ON swaps (collective, by_key);

  -- Private notes: the text is sealed, and numbered for each person apart.
  CREATE TABLE notes (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    person TEXT NOT NULL,
    number INTEGER NOT NULL,
    job INTEGER,
    sealed TEXT NOT NULL,
    at TEXT NOT NULL,
    edited TEXT,
    PRIMARY KEY (collective, person, number),
    FOREIGN KEY (collective, job) REFERENCES jobs (collective, number)
  ) STRICT;
  CREATE INDEX notes_by_job ON notes (collective, job);

  -- The weekly post: the intent is saved before it is sent. One row a week and place; \`said\` is what was sent last.
  CREATE TABLE week_posts (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    week TEXT NOT NULL,
    place TEXT NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('sending', 'sent')),
    said TEXT NOT NULL,
    message TEXT,
    tries INTEGER NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, week, place),
    CHECK ((state = 'sent') = (message IS NOT NULL))
  ) STRICT;

  -- Which collective a server or room belongs to, and where a person's direct messages go.
  CREATE TABLE places (
    platform TEXT NOT NULL,
    id TEXT NOT NULL,
    collective INTEGER NOT NULL REFERENCES collectives (id),
    kind TEXT NOT NULL CHECK (kind IN ('server', 'room', 'direct')),
    -- True where the weekly post goes.
    weekly INTEGER NOT NULL DEFAULT 0 CHECK (weekly IN (0, 1)),
    at TEXT NOT NULL,
    PRIMARY KEY (platform, id)
  ) STRICT;
  CREATE INDEX places_of ON places (collective);
  CREATE TABLE homes (
    person TEXT PRIMARY KEY,
    collective INTEGER NOT NULL REFERENCES collectives (id)
  ) STRICT;
  CREATE TABLE link_words (
    hash TEXT PRIMARY KEY,
    collective INTEGER NOT NULL REFERENCES collectives (id),
    by TEXT NOT NULL,
    at TEXT NOT NULL
  ) STRICT;
  -- What a surface must remember over a restart: a sync token, the ids of events already answered.
  CREATE TABLE surface_state (
    surface TEXT NOT NULL,
    key TEXT NOT NULL,
    value TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (surface, key)
  ) STRICT;
  `,
  `
  -- What was found to read all that a collective ever did, and now finds its rows.
  DROP INDEX traces_open;
  CREATE INDEX traces_open ON traces (collective, state, number);
  DROP INDEX sightings_by_date;
  CREATE INDEX sightings_by_date ON sightings (collective, seen, number);
  CREATE INDEX sightings_of_model ON sightings (collective, model, seen, number);
  CREATE INDEX swaps_by_time ON swaps (collective, at);
  CREATE INDEX swaps_by_model ON swaps (collective, model);
  CREATE INDEX people_by_key ON people (key);
  CREATE INDEX choices_by_person ON choices (collective, person);
  `,
  `
  -- The state of a phone: events of its job, or of a trace that has none. One that was a mistake is withdrawn, and stays.
  CREATE TABLE phone_events (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    subject TEXT NOT NULL CHECK (subject IN ('job', 'trace')),
    number INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    event TEXT NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    withdrawn_by TEXT,
    withdrawn_at TEXT,
    withdrawn_why TEXT,
    PRIMARY KEY (collective, subject, number, seq),
    CHECK ((withdrawn_by IS NULL) = (withdrawn_at IS NULL)),
    CHECK ((withdrawn_by IS NULL) = (withdrawn_why IS NULL))
  ) STRICT;
  CREATE INDEX phone_events_by_person ON phone_events (collective, by_key);
  -- Which cautions a person was shown whole for a phone: after that one line is enough, until something changes.
  CREATE TABLE cautions_shown (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    subject TEXT NOT NULL CHECK (subject IN ('job', 'trace')),
    number INTEGER NOT NULL,
    person TEXT NOT NULL,
    caution TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, subject, number, person, caution)
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- A person is known by their key everywhere. Older rows get the key of the one person who is known under the name there;
  -- where there are several, or none, the key stays empty.
  ALTER TABLE traces ADD COLUMN started_key TEXT;
  ALTER TABLE trace_steps ADD COLUMN by_key TEXT;
  ALTER TABLE models ADD COLUMN by_key TEXT;
  ALTER TABLE job_entries ADD COLUMN struck_key TEXT;
  ALTER TABLE phone_events ADD COLUMN withdrawn_key TEXT;
  ALTER TABLE swaps ADD COLUMN aside_key TEXT;

  CREATE TABLE known_people (
    collective INTEGER NOT NULL,
    name TEXT NOT NULL,
    key TEXT NOT NULL,
    PRIMARY KEY (collective, name)
  ) STRICT, WITHOUT ROWID;
  INSERT INTO known_people
    SELECT collective, name, min(key) FROM (
      SELECT collective, name, key FROM people
      UNION SELECT collective, opened_by, opened_key FROM jobs
      UNION SELECT collective, holder, holder_key FROM jobs
      UNION SELECT collective, by, by_key FROM job_entries
      UNION SELECT collective, by, by_key FROM phone_events
      UNION SELECT collective, by, by_key FROM sightings
      UNION SELECT collective, by, by_key FROM swaps
    )
    WHERE name <> 'someone who left'
    GROUP BY collective, name HAVING count(*) = 1;

  UPDATE traces SET started_key =
    (SELECT key FROM known_people k WHERE k.collective = traces.collective AND k.name = started_by);
  UPDATE trace_steps SET by_key =
    (SELECT key FROM known_people k WHERE k.collective = trace_steps.collective AND k.name = by);
  UPDATE models SET by_key =
    (SELECT key FROM known_people k WHERE k.collective = models.collective AND k.name = models.by);
  UPDATE job_entries SET struck_key =
    (SELECT key FROM known_people k WHERE k.collective = job_entries.collective AND k.name = struck_by)
    WHERE struck_by IS NOT NULL;
  UPDATE phone_events SET withdrawn_key =
    (SELECT key FROM known_people k WHERE k.collective = phone_events.collective AND k.name = withdrawn_by)
    WHERE withdrawn_by IS NOT NULL;
  UPDATE swaps SET aside_key =
    (SELECT key FROM known_people k WHERE k.collective = swaps.collective AND k.name = aside_by)
    WHERE aside_by IS NOT NULL;
  UPDATE jobs SET ending = json_set(ending, '$.by', json_object(
    'key', (SELECT key FROM known_people k WHERE k.collective = jobs.collective AND k.name = ending ->> '$.by'),
    'name', ending ->> '$.by'))
    WHERE ending IS NOT NULL;
  UPDATE job_entries SET entry = json_set(entry,
    '$.from', json_object(
      'key', (SELECT key FROM known_people k WHERE k.collective = job_entries.collective AND k.name = entry ->> '$.from'),
      'name', entry ->> '$.from'),
    '$.to', json_object(
      'key', (SELECT key FROM known_people k WHERE k.collective = job_entries.collective AND k.name = entry ->> '$.to'),
      'name', entry ->> '$.to'))
    WHERE entry ->> '$.kind' = 'handed';
  DROP TABLE known_people;

  CREATE INDEX traces_by_person ON traces (collective, started_key);
  CREATE INDEX trace_steps_by_person ON trace_steps (collective, by_key);
  `,
  `
  -- Parts of the collective's own, and every move of each: ordered, here, in a phone, gone.
  CREATE TABLE shelf (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    component TEXT NOT NULL,
    family TEXT NOT NULL,
    model INTEGER,
    grade TEXT NOT NULL,
    tested INTEGER NOT NULL CHECK (tested IN (0, 1)),
    -- In minor units; null for one out of a donor phone.
    price INTEGER CHECK (price >= 0),
    currency TEXT NOT NULL,
    supplier TEXT NOT NULL,
    donor INTEGER,
    paired INTEGER NOT NULL CHECK (paired IN (0, 1)),
    place TEXT NOT NULL,
    due TEXT,
    state TEXT NOT NULL CHECK (state IN ('ordered', 'here', 'fitted', 'gone')),
    job INTEGER,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, number),
    CHECK ((state = 'fitted') = (job IS NOT NULL))
  ) STRICT;
  CREATE INDEX shelf_by_component ON shelf (collective, component, state, number);
  CREATE INDEX shelf_by_family ON shelf (collective, family, state, number);
  CREATE INDEX shelf_by_state ON shelf (collective, state, number);
  CREATE INDEX shelf_by_job ON shelf (collective, job);
  CREATE INDEX shelf_by_donor ON shelf (collective, donor);
  CREATE INDEX shelf_by_person ON shelf (collective, by_key);
  CREATE TABLE shelf_moves (
    collective INTEGER NOT NULL,
    part INTEGER NOT NULL,
    seq INTEGER NOT NULL,
    move TEXT NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, part, seq),
    FOREIGN KEY (collective, part) REFERENCES shelf (collective, number)
  ) STRICT;
  CREATE INDEX shelf_moves_by_person ON shelf_moves (collective, by_key);
  -- How many of a component are wanted on the shelf.
  CREATE TABLE shelf_wanted (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    component TEXT NOT NULL,
    family TEXT NOT NULL,
    model INTEGER,
    least INTEGER NOT NULL CHECK (least > 0)
  ) STRICT;
  CREATE INDEX shelf_wanted_of ON shelf_wanted (collective);
  `,
  `
  -- What people's own words mean here, as it was put right when the bot asked. By whom, since it goes with an erasure.
  CREATE TABLE learned_words (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    phrase TEXT NOT NULL,
    meaning TEXT NOT NULL,
    taken INTEGER NOT NULL CHECK (taken IN (0, 1)),
    by TEXT NOT NULL,
    by_key TEXT,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, phrase, meaning)
  ) STRICT;
  CREATE INDEX learned_words_by_person ON learned_words (collective, by_key);
  `,
  `
  -- What a surface keeps sealed, such as the keys of encrypted rooms.
  CREATE TABLE sealed_records (
    space TEXT NOT NULL,
    shelf TEXT NOT NULL,
    id TEXT NOT NULL,
    sealed TEXT NOT NULL,
    UNIQUE (space, shelf, id)
  ) STRICT;
  `,
  `
  -- What was fitted in phones that were finished, and which of it failed again.
  CREATE TABLE fittings (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    job INTEGER NOT NULL,
    component TEXT NOT NULL,
    grade TEXT NOT NULL,
    supplier TEXT NOT NULL,
    since TEXT NOT NULL,
    -- Days for which it was promised; 0: nothing was.
    promised INTEGER NOT NULL CHECK (promised >= 0),
    failed TEXT,
    PRIMARY KEY (collective, job, component)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX fittings_by_component ON fittings (collective, component, since);
  CREATE INDEX fittings_by_day ON fittings (collective, since);
  -- The last one of each component in the phones that are finished already.
  INSERT INTO fittings (collective, job, component, grade, supplier, since, promised)
    SELECT collective, job, component, grade, supplier, since, 0 FROM (
      SELECT e.collective AS collective, e.job AS job, e.entry ->> '$.component' AS component,
        e.entry ->> '$.grade' AS grade, coalesce(s.supplier, '') AS supplier, j.ended_at AS since, max(e.seq)
      FROM job_entries e
      JOIN jobs j ON j.collective = e.collective AND j.number = e.job
      LEFT JOIN shelf s ON s.collective = e.collective AND s.number = e.entry ->> '$.part'
      WHERE j.ended = 'restored' AND e.struck_by IS NULL AND e.entry ->> '$.kind' = 'fitted'
      GROUP BY e.collective, e.job, e.entry ->> '$.component'
    );
  `,
  `
  -- The words of an entry can be removed for good; who did it stays.
  ALTER TABLE job_entries ADD COLUMN wiped_by TEXT;
  ALTER TABLE job_entries ADD COLUMN wiped_key TEXT;
  ALTER TABLE job_entries ADD COLUMN wiped_at TEXT;
  `,
  `
  -- What a sound phone of a model reads, place by place: a bench's own tables. A null value is an open line.
  CREATE TABLE bench_readings (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    model INTEGER NOT NULL REFERENCES models (id),
    kind TEXT NOT NULL,
    place TEXT NOT NULL,
    place_key TEXT NOT NULL,
    value REAL,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, number),
    UNIQUE (collective, model, kind, place_key)
  ) STRICT;
  CREATE INDEX bench_readings_by_person ON bench_readings (collective, by_key);
  `,
  `
  -- What was known of a model before somebody changed it.
  CREATE TABLE model_versions (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    model INTEGER NOT NULL REFERENCES models (id),
    seq INTEGER NOT NULL,
    name TEXT NOT NULL,
    family TEXT NOT NULL,
    launched TEXT,
    new_price INTEGER,
    new_price_currency TEXT,
    by TEXT NOT NULL,
    by_key TEXT,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, model, seq)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX model_versions_by_person ON model_versions (collective, by_key);
  `,
  `
  -- Records of other benches that were read in, as they came.
  CREATE TABLE open_records (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    provider TEXT NOT NULL,
    id TEXT NOT NULL,
    status TEXT NOT NULL,
    record TEXT NOT NULL,
    PRIMARY KEY (collective, provider, id)
  ) STRICT, WITHOUT ROWID;
  `,
  `
  -- Photos of jobs: sealed, and nothing in the clear of what they show.
  CREATE TABLE photos (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    job INTEGER NOT NULL,
    number INTEGER NOT NULL,
    moment TEXT NOT NULL CHECK (moment IN ('intake', 'step', 'end')),
    sealed TEXT NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, job, number)
  ) STRICT;
  CREATE INDEX photos_by_person ON photos (collective, by_key);
  `,
  `
  -- Messages of the bot in chat, with what each one shows: so that they can be put right when words are removed.
  CREATE TABLE shown_messages (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    platform TEXT NOT NULL,
    channel TEXT NOT NULL,
    message TEXT NOT NULL,
    subject TEXT NOT NULL,
    -- Key of the one person whom it was shown to; null where a room reads it.
    person TEXT,
    -- It offers something to tap.
    choices INTEGER NOT NULL CHECK (choices IN (0, 1)),
    at TEXT NOT NULL,
    -- What it is to be put right for.
    removal INTEGER,
    PRIMARY KEY (collective, platform, channel, message, subject)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX shown_messages_by_subject ON shown_messages (collective, subject, at);
  CREATE INDEX shown_messages_by_person ON shown_messages (collective, person);
  CREATE INDEX shown_messages_by_age ON shown_messages (at);
  CREATE INDEX shown_messages_to_mend ON shown_messages (platform, removal) WHERE removal IS NOT NULL;
  -- Who had words removed; the words are kept nowhere.
  CREATE TABLE removals (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    number INTEGER NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT,
    role TEXT NOT NULL,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, number)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX removals_by_person ON removals (collective, by_key);
  `,
  `
  -- Where jobs have their threads, and who chose that. One place of a platform for each collective.
  CREATE TABLE job_channels (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    platform TEXT NOT NULL,
    channel TEXT NOT NULL,
    server TEXT,
    by TEXT NOT NULL,
    by_key TEXT,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, platform)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX job_channels_by_person ON job_channels (collective, by_key);
  -- The thread of a job, with its card: what stands there, or is about to.
  CREATE TABLE job_posts (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    platform TEXT NOT NULL,
    job INTEGER NOT NULL,
    channel TEXT NOT NULL,
    -- idle: not before the job moves. making: it may stand there. done: its job is closed. gone: the job goes on without it.
    state TEXT NOT NULL CHECK (state IN ('idle', 'making', 'there', 'done', 'gone')),
    thread TEXT,
    card TEXT,
    -- What the card says of, as revisions.
    stamp TEXT NOT NULL,
    PRIMARY KEY (collective, platform, job)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX job_posts_by_card ON job_posts (collective, platform, card);
  CREATE INDEX job_posts_by_state ON job_posts (collective, platform, state);
  `,
  `
  -- Who removed words from a record that has no column for it; the words are kept nowhere.
  CREATE TABLE words_wiped (
    collective INTEGER NOT NULL REFERENCES collectives (id),
    -- trace:3, report:2, part:7, danger:job:4
    record TEXT NOT NULL,
    seq INTEGER NOT NULL,
    by TEXT NOT NULL,
    by_key TEXT,
    at TEXT NOT NULL,
    PRIMARY KEY (collective, record, seq)
  ) STRICT, WITHOUT ROWID;
  CREATE INDEX words_wiped_by_person ON words_wiped (collective, by_key);
  `,
];
