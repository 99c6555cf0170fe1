package history

import (
	"context"
	"crypto/sha256"
	"database/sql/driver"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/jackc/pgx/v5/stdlib"
)

// A serverDriver connects to a PostgreSQL server that understands the statements of this package: they are written once, with
// the question marks of SQLite, and those that mean something else on a server are put in its words.
type serverDriver struct{ driver.Connector }

// Connect opens a connection.
func (s serverDriver) Connect(ctx context.Context) (driver.Conn, error) {
	c, err := s.Connector.Connect(ctx)
	if err != nil {
		return nil, err
	}
	return &serverConn{c.(*stdlib.Conn)}, nil
}

// A serverConn is one connection to a server.
type serverConn struct{ *stdlib.Conn }

var (
	_ driver.QueryerContext     = (*serverConn)(nil)
	_ driver.ExecerContext      = (*serverConn)(nil)
	_ driver.ConnPrepareContext = (*serverConn)(nil)
	_ driver.ConnBeginTx        = (*serverConn)(nil)
	_ driver.NamedValueChecker  = (*serverConn)(nil)
)

// Prepare prepares a statement.
func (c *serverConn) Prepare(text string) (driver.Stmt, error) {
	return c.Conn.Prepare(serverText(text))
}

// PrepareContext prepares a statement.
func (c *serverConn) PrepareContext(ctx context.Context, text string) (driver.Stmt, error) {
	return c.Conn.PrepareContext(ctx, serverText(text))
}

// ExecContext runs a statement.
func (c *serverConn) ExecContext(ctx context.Context, text string, args []driver.NamedValue) (driver.Result, error) {
	return c.Conn.ExecContext(ctx, serverText(text), args)
}

// QueryContext asks for rows.
func (c *serverConn) QueryContext(ctx context.Context, text string, args []driver.NamedValue) (driver.Rows, error) {
	return c.Conn.QueryContext(ctx, serverText(text), args)
}

// CheckNamedValue makes numbers of what is true or false: the columns are numbers on both sides.
func (c *serverConn) CheckNamedValue(v *driver.NamedValue) error {
	v.Value = serverValue(v.Value)
	return c.Conn.CheckNamedValue(v)
}

func serverValue(v any) any {
	switch v := v.(type) {
	case bool:
		if v {
			return int64(1)
		}
		return int64(0)
	case string:
		return storable(v)
	}
	return v
}

// longest is how many bytes of a text a server is given: its indices take no more than 2,704 (PostgreSQL's manual, B-tree indexes).
const longest = 2500

// storable returns a text as a server keeps it. A server takes neither what is no UTF-8 nor a zero byte, and files have such names: these
// bytes are written out, as \xff, what is too long is cut, and a digest of the whole keeps it apart from all others.
func storable(text string) string {
	plain := utf8.ValidString(text) && !strings.Contains(text, "\x00")
	if plain && len(text) <= longest {
		return text
	}
	var b strings.Builder
	for i := 0; i < len(text) && b.Len() < longest-40; {
		r, n := utf8.DecodeRuneInString(text[i:])
		if r == 0 || r == utf8.RuneError && n == 1 {
			fmt.Fprintf(&b, `\x%02x`, text[i])
		} else {
			b.WriteString(text[i : i+n])
		}
		i += n
	}
	sum := sha256.Sum256([]byte(text))
	return fmt.Sprintf("%s~%x", &b, sum[:12])
}

// serverText puts a statement in the words of a server: ? and ?2 become $1 and $2, and a row that is refused undoes the
// transaction there anyway.
func serverText(text string) string {
	text = strings.Replace(text, "INSERT OR ROLLBACK INTO", "INSERT INTO", 1)
	if text == "BEGIN IMMEDIATE" {
		return "BEGIN"
	}
	if !strings.Contains(text, "?") {
		return text
	}
	var b strings.Builder
	next, quoted := 1, false
	for i := 0; i < len(text); i++ {
		c := text[i]
		if c == '\'' {
			quoted = !quoted
		}
		if c != '?' || quoted {
			b.WriteByte(c)
			continue
		}
		b.WriteByte('$')
		if i+1 < len(text) && text[i+1] >= '1' && text[i+1] <= '9' {
			continue // the number follows
		}
		b.WriteString(strconv.Itoa(next))
		next++
	}
	return b.String()
}
