#include "record/schema.h"

#include <array>

namespace stopledger {

namespace {

// Nothing here is ever updated or deleted except the tables that can be computed from the others:
// the columns of car, newest, brief.
constexpr const char* first = R"sql(
CREATE TABLE entry (
  id     INTEGER PRIMARY KEY,
  uid    TEXT NOT NULL UNIQUE,
  what   TEXT NOT NULL CHECK (what IN
           ('car', 'sheet', 'record', 'removal', 'check', 'file', 'plan', 'plan_end')),
  at     TEXT NOT NULL,
  who    TEXT NOT NULL,
  digest TEXT NOT NULL
) STRICT;

CREATE TABLE car (
  id    INTEGER PRIMARY KEY REFERENCES entry(id),
  name  TEXT NOT NULL COLLATE NOCASE UNIQUE,
  state TEXT NOT NULL CHECK (state IN ('active', 'retired', 'sold')),
  body  TEXT NOT NULL
) STRICT;

CREATE TABLE sheet (
  id      INTEGER PRIMARY KEY REFERENCES entry(id),
  car     INTEGER NOT NULL REFERENCES car(id),
  version INTEGER NOT NULL,
  body    TEXT NOT NULL,
  reason  TEXT NOT NULL
) STRICT;
CREATE INDEX sheet_by_car ON sheet(car, version);

CREATE TABLE record (
  id          INTEGER PRIMARY KEY REFERENCES entry(id),
  car         INTEGER NOT NULL REFERENCES car(id),
  kind        TEXT NOT NULL,
  day         TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
  odometer_km REAL,
  odometer    TEXT,
  who         TEXT NOT NULL,
  signed_by   TEXT NOT NULL,
  note        TEXT NOT NULL,
  supersedes  INTEGER REFERENCES record(id),
  CHECK ((odometer_km IS NULL) = (odometer IS NULL)),
  CHECK (supersedes < id)
) STRICT;
CREATE INDEX record_by_car ON record(car, kind, day DESC, id DESC, odometer_km);
CREATE INDEX record_by_superseded ON record(supersedes) WHERE supersedes IS NOT NULL;

CREATE TABLE field (
  record  INTEGER NOT NULL REFERENCES record(id),
  name    TEXT NOT NULL,
  written TEXT NOT NULL,
  value   REAL,
  PRIMARY KEY (record, name)
) STRICT, WITHOUT ROWID;

CREATE TABLE removal (
  id     INTEGER PRIMARY KEY REFERENCES entry(id),
  record INTEGER NOT NULL REFERENCES record(id),
  reason TEXT NOT NULL CHECK (reason <> '')
) STRICT;
CREATE INDEX removal_by_record ON removal(record);

CREATE TABLE content (
  sha256 TEXT PRIMARY KEY,
  size   INTEGER NOT NULL,
  packed BLOB NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE file (
  id     INTEGER PRIMARY KEY REFERENCES entry(id),
  record INTEGER NOT NULL REFERENCES record(id),
  role   TEXT NOT NULL CHECK (role IN ('log', 'photograph', 'document')),
  name   TEXT NOT NULL,
  sha256 TEXT NOT NULL REFERENCES content(sha256)
) STRICT;
CREATE INDEX file_by_record ON file(record);

CREATE TABLE "check" (
  id      INTEGER PRIMARY KEY REFERENCES entry(id),
  record  INTEGER NOT NULL REFERENCES record(id),
  engine  TEXT NOT NULL,
  outcome TEXT NOT NULL
) STRICT;
CREATE INDEX check_by_record ON "check"(record);

CREATE TABLE plan (
  id   INTEGER PRIMARY KEY REFERENCES entry(id),
  car  INTEGER NOT NULL REFERENCES car(id),
  day  TEXT NOT NULL CHECK (day GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
  body TEXT NOT NULL
) STRICT;
CREATE INDEX plan_by_car ON plan(car);

CREATE TABLE plan_end (
  id     INTEGER PRIMARY KEY REFERENCES entry(id),
  plan   INTEGER NOT NULL REFERENCES plan(id),
  reason TEXT NOT NULL
) STRICT;
CREATE INDEX plan_end_by_plan ON plan_end(plan);

CREATE TABLE newest (
  car         INTEGER NOT NULL REFERENCES car(id),
  kind        TEXT NOT NULL,
  subject     TEXT NOT NULL,
  result      TEXT NOT NULL,
  day         TEXT NOT NULL,
  record      INTEGER NOT NULL REFERENCES record(id),
  odometer_km REAL,
  PRIMARY KEY (car, kind, subject, result)
) STRICT, WITHOUT ROWID;
)sql";

// What decides what is due, per car in one row: reading it for all cars from the records themselves
// took longer than reckoning with it.
constexpr const char* second = R"sql(
CREATE TABLE brief (
  car  INTEGER PRIMARY KEY REFERENCES car(id),
  body TEXT NOT NULL
) STRICT;
)sql";

constexpr std::array steps{first, second};

}  // namespace

std::span<const char* const> schema_steps() { return steps; }

}  // namespace stopledger
