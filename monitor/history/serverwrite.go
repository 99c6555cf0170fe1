package history

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// appendToServer writes a batch to a line that this DB holds, or takes.
func (d *DB) appendToServer(ctx context.Context, b Batch) error {
	if d.closed || d.server.watcher == "" {
		return fmt.Errorf("%s: %w", d.path, ErrNotWatcher)
	}
	return d.onLine(ctx, b.Line, func(line int64) error {
		w := &writer{db: d, ctx: ctx, batch: &b, nextFile: d.server.held[line]}
		err := w.transact(w.write)
		if err == nil {
			d.server.held[line] = w.nextFile
		}
		return err
	})
}

// onLine does something in the session that holds the line. A session that broke is given up: the next call begins another.
func (d *DB) onLine(ctx context.Context, line string, do func(id int64) error) error {
	id, err := d.holding(ctx, line)
	if err == nil {
		err = do(id)
	}
	if err != nil && d.broken() {
		d.dropSession()
	}
	return explain(d.path, err)
}

// broken reports whether the connection that writes is of no more use.
func (d *DB) broken() bool {
	if d.conn == nil {
		return false
	}
	closed := true
	err := d.conn.Raw(func(raw any) error {
		c := raw.(*serverConn).Conn.Conn()
		closed = c.IsClosed() || c.PgConn().TxStatus() != 'I'
		return nil
	})
	return err != nil || closed
}

// copyFrom is from how many rows on a COPY is quicker than statements of a row each: it takes two more turns to the server.
const copyFrom = 8

// insertToServer writes rows of a table: many by COPY, and few, or those that may be there already, one by one.
func (w *writer) insertToServer(into, on string, next func(args []any) ([]any, error)) error {
	var rows [][]any
	for {
		row, err := next(nil)
		if err != nil {
			return err
		}
		if row == nil {
			break
		}
		for i := range row {
			row[i] = serverValue(row[i])
		}
		rows = append(rows, row)
	}
	if len(rows) >= copyFrom && on == "" {
		table, columns := tableOf(into)
		return w.db.conn.Raw(func(raw any) error {
			_, err := raw.(*serverConn).Conn.Conn().CopyFrom(w.ctx, pgx.Identifier{table}, columns, pgx.CopyFromRows(rows))
			return err
		})
	}
	for _, row := range rows {
		if err := w.exec(into+" VALUES (?"+strings.Repeat(",?", len(row)-1)+")"+on, row...); err != nil {
			return err
		}
	}
	return nil
}

// tableOf returns the table and the columns of "INSERT … INTO table (a, b)".
func tableOf(into string) (table string, columns []string) {
	_, into, _ = strings.Cut(into, "INTO ")
	table, into, _ = strings.Cut(into, " (")
	return table, strings.Split(strings.TrimSuffix(into, ")"), ", ")
}

// explainServer puts the history's name and one of the errors of this package in front of what a server says, or of why it says
// nothing.
func explainServer(path string, err error) error {
	if err == nil || !IsServer(path) || errors.Is(err, ErrAway) || errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	var e *pgconn.PgError
	if !errors.As(err, &e) {
		var dial *pgconn.ConnectError
		var over net.Error
		if errors.As(err, &dial) || errors.As(err, &over) || errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) ||
			errors.Is(err, net.ErrClosed) || strings.Contains(err.Error(), "conn closed") || strings.Contains(err.Error(), "bad connection") {
			return fmt.Errorf("%s: %w (%s)", path, ErrAway, brief(err))
		}
		return err
	}
	var what error
	switch {
	case strings.HasPrefix(e.Code, "08"), strings.HasPrefix(e.Code, "57P"), e.Code == "53300": // connections; shutting down or starting; too many
		what = ErrAway
	case e.Code == "40001", e.Code == "40P01", e.Code == "55P03": // could not serialize, deadlock, lock not available
		what = ErrBusy
	case e.Code == "53100":
		what = ErrFull
	case e.Code == "25006", e.Code == "42501": // read-only, no right
		what = ErrReadOnly
	case strings.HasPrefix(e.Code, "28"), e.Code == "3D000": // who it is; no such database
		what = ErrNoEntry
	default:
		return fmt.Errorf("%s: %s (%w)", path, e.Message, err)
	}
	return fmt.Errorf("%s: %w (%s)", path, what, e.Message)
}

// brief is what a library says of a failed connection without the address, which it repeats with the user's name.
func brief(err error) string {
	var dial *pgconn.ConnectError
	if errors.As(err, &dial) && errors.Unwrap(dial) != nil {
		err = errors.Unwrap(dial)
	}
	var over *net.OpError
	if errors.As(err, &over) {
		err = over.Err
	}
	text, _, _ := strings.Cut(err.Error(), "\n")
	return text
}
