package history

import (
	"context"
	"database/sql"
	"fmt"
)

// applicationID stands in the header of the file: "asus" in ASCII.
const applicationID = 0x61737573

// steps bring a history forward: step i makes version i+1 of version i. A step that was released does not change.
var steps = []string{version1, version2, version3, version4, version5, version6, version7, version8}

// schemaVersion is the version that this program writes.
var schemaVersion = len(steps)

const version1 = `
CREATE TABLE line (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE);
CREATE TABLE word (id INTEGER PRIMARY KEY, text TEXT NOT NULL UNIQUE);
CREATE TABLE axis (id INTEGER PRIMARY KEY, fingerprint TEXT NOT NULL UNIQUE, axis TEXT NOT NULL);
CREATE TABLE file (
	id INTEGER PRIMARY KEY, line INTEGER NOT NULL REFERENCES line, name TEXT NOT NULL, version INTEGER NOT NULL,
	size INTEGER NOT NULL, modified INTEGER NOT NULL, digest INTEGER NOT NULL, digest2 INTEGER NOT NULL, bytes INTEGER NOT NULL,
	rows INTEGER NOT NULL, lines INTEGER NOT NULL, partial INTEGER NOT NULL, received INTEGER NOT NULL);
CREATE UNIQUE INDEX file_name ON file (line, name, version);
CREATE INDEX file_digest ON file (digest);
CREATE TABLE record (
	line INTEGER NOT NULL REFERENCES line, time INTEGER NOT NULL, file INTEGER NOT NULL REFERENCES file, row INTEGER NOT NULL,
	received INTEGER NOT NULL, run INTEGER REFERENCES word, condition INTEGER NOT NULL REFERENCES word,
	t2 REAL, q REAL, distance REAL, inside INTEGER NOT NULL, late INTEGER NOT NULL, verdict INTEGER NOT NULL REFERENCES word,
	scores BLOB, map BLOB, rough BLOB, grp INTEGER REFERENCES word, instrument INTEGER REFERENCES word, reasons TEXT,
	reference INTEGER NOT NULL REFERENCES word, mark INTEGER NOT NULL,
	PRIMARY KEY (line, time, file, row)) WITHOUT ROWID;
CREATE INDEX record_row ON record (file, row) WHERE row > 0;
CREATE INDEX record_grp ON record (grp, time) WHERE grp IS NOT NULL;
CREATE TABLE unreadable (
	line INTEGER NOT NULL REFERENCES line, time INTEGER NOT NULL, file INTEGER NOT NULL REFERENCES file, row INTEGER NOT NULL,
	text_line INTEGER NOT NULL, reason TEXT NOT NULL, received INTEGER NOT NULL,
	PRIMARY KEY (line, time, file, row, text_line)) WITHOUT ROWID;
CREATE TABLE copy (
	line INTEGER NOT NULL REFERENCES line, time INTEGER NOT NULL, file INTEGER NOT NULL REFERENCES file,
	of TEXT NOT NULL, rows INTEGER NOT NULL, received INTEGER NOT NULL,
	PRIMARY KEY (line, time, file, received)) WITHOUT ROWID;
CREATE TABLE episode (
	line INTEGER NOT NULL REFERENCES line, start INTEGER NOT NULL, stop INTEGER, changed_since INTEGER NOT NULL,
	spectra INTEGER NOT NULL, peak REAL NOT NULL, grp TEXT NOT NULL, instrument TEXT NOT NULL, reasons TEXT,
	reference INTEGER NOT NULL REFERENCES word,
	PRIMARY KEY (line, start)) WITHOUT ROWID;
CREATE TABLE grp (
	line INTEGER NOT NULL REFERENCES line, name TEXT NOT NULL, start INTEGER NOT NULL, stop INTEGER NOT NULL,
	spectra INTEGER NOT NULL, seen TEXT NOT NULL, episode INTEGER,
	PRIMARY KEY (line, name)) WITHOUT ROWID;
CREATE TABLE state (
	line INTEGER PRIMARY KEY REFERENCES line, course BLOB NOT NULL, past BLOB, reference INTEGER NOT NULL REFERENCES word,
	basis TEXT NOT NULL, newest INTEGER, written INTEGER NOT NULL);
CREATE TABLE alarm (line INTEGER PRIMARY KEY REFERENCES line, alarm TEXT NOT NULL);
CREATE TABLE act (
	id INTEGER PRIMARY KEY, line INTEGER NOT NULL REFERENCES line, time INTEGER NOT NULL, act TEXT NOT NULL, who TEXT NOT NULL,
	why TEXT NOT NULL, until INTEGER, state TEXT NOT NULL, episode INTEGER, refused TEXT NOT NULL, request TEXT NOT NULL);
CREATE INDEX act_time ON act (line, time);
CREATE UNIQUE INDEX act_request ON act (request) WHERE request <> '';
CREATE TABLE mean (
	line INTEGER NOT NULL REFERENCES line, start INTEGER NOT NULL, condition INTEGER NOT NULL REFERENCES word,
	axis INTEGER NOT NULL REFERENCES axis, count INTEGER NOT NULL, mean BLOB NOT NULL,
	PRIMARY KEY (line, start, condition, axis)) WITHOUT ROWID;
CREATE TABLE reference (
	line INTEGER NOT NULL REFERENCES line, since INTEGER NOT NULL, fingerprint TEXT NOT NULL, name TEXT NOT NULL,
	PRIMARY KEY (line, since)) WITHOUT ROWID;
CREATE VIEW spectra AS
	SELECT l.name AS line, r.time / 1000000000.0 AS time, f.name AS file, r.row, run.text AS run, c.text AS condition, r.t2, r.q,
		r.distance, r.inside, r.late, v.text AS verdict, g.text AS grp, i.text AS instrument, r.reasons, ref.text AS reference
	FROM record r JOIN line l ON l.id = r.line JOIN file f ON f.id = r.file JOIN word c ON c.id = r.condition
		JOIN word v ON v.id = r.verdict JOIN word ref ON ref.id = r.reference LEFT JOIN word run ON run.id = r.run
		LEFT JOIN word g ON g.id = r.grp LEFT JOIN word i ON i.id = r.instrument;
`

const version2 = `
CREATE TABLE own (
	line INTEGER NOT NULL REFERENCES line, time INTEGER NOT NULL, file INTEGER NOT NULL REFERENCES file, row INTEGER NOT NULL,
	role INTEGER NOT NULL REFERENCES word, late INTEGER NOT NULL, received INTEGER NOT NULL, mark INTEGER NOT NULL,
	PRIMARY KEY (line, time, file, row)) WITHOUT ROWID;
CREATE INDEX own_row ON own (file, row) WHERE row > 0;
CREATE TABLE measured (
	id INTEGER PRIMARY KEY, line INTEGER NOT NULL REFERENCES line, time INTEGER NOT NULL, measure INTEGER NOT NULL REFERENCES word,
	about TEXT NOT NULL, value REAL, ageing REAL NOT NULL, unfit REAL NOT NULL, unit TEXT NOT NULL, state TEXT NOT NULL, reasons TEXT);
CREATE INDEX measured_time ON measured (line, time);
CREATE TABLE book (line INTEGER PRIMARY KEY REFERENCES line, book BLOB NOT NULL);
`

// version3: one of what could not be read may stand for many rows of a file that is bad throughout.
const version3 = `ALTER TABLE unreadable ADD COLUMN count INTEGER NOT NULL DEFAULT 1;`

// migrate brings the schema to this program's version, each step in a transaction of its own.
func migrate(ctx context.Context, c *sql.Conn, from int) error {
	for v := from; v < schemaVersion; v++ {
		step := fmt.Sprintf("BEGIN IMMEDIATE; %s PRAGMA application_id = %d; PRAGMA user_version = %d; COMMIT;",
			steps[v], applicationID, v+1)
		if _, err := c.ExecContext(ctx, step); err != nil {
			_, _ = c.ExecContext(ctx, "ROLLBACK") // nothing is open where BEGIN was refused
			return fmt.Errorf("bringing the schema to version %d: %w", v+1, err)
		}
	}
	return nil
}
