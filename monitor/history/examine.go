package history

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
)

// An Examination says how a server of histories stands to whoever asks it.
type Examination struct {
	Name     string        // the address without user and password
	Software string        // such as "15.14"
	User     string        // as whom it was asked
	Place    string        // the schema in which the tables stand, or will
	Encoding string        // of texts; only UTF8 holds them all
	Version  int           // of the schema; 0 where there is no history yet
	Newest   int           // the version that this program writes
	Standby  bool          // it only repeats another server, or takes nothing else at the moment
	Ahead    time.Duration // of the server's clock before the one here
	Within   time.Duration // half the time that the question took: so far Ahead may be off
	Missing  []string      // rights that a watch needs and the user has not, such as "INSERT on record"
}

// Examine asks the server of that address. It changes nothing there. Where the server does not answer the error is ErrAway.
func Examine(ctx context.Context, address string) (x Examination, err error) {
	d, err := openServer(address)
	if err != nil {
		return x, err
	}
	defer d.pool.Close() // nothing was written
	x.Name, x.Newest = d.path, schemaVersion
	// The first question makes the connection, so that the second takes no longer than its way.
	err = d.pool.QueryRowContext(ctx, `SELECT current_setting('server_version'), current_user, current_setting('search_path'),
		current_setting('server_encoding'), pg_is_in_recovery() OR current_setting('default_transaction_read_only')::boolean`).
		Scan(&x.Software, &x.User, &x.Place, &x.Encoding, &x.Standby)
	if err != nil {
		return x, explain(d.path, err)
	}
	x.Software, _, _ = strings.Cut(x.Software, " ")
	x.Place, _, _ = strings.Cut(x.Place, ",")
	x.Place = strings.Trim(x.Place, ` "`)
	if x.Version, err = d.serverVersion(ctx); err != nil {
		return x, explain(d.path, err)
	}
	if x.Missing, err = d.missing(ctx, x.Place, x.Version); err != nil {
		return x, explain(d.path, err)
	}
	var there int64
	asked := time.Now()
	if err := d.pool.QueryRowContext(ctx, "SELECT (extract(epoch FROM clock_timestamp()) * 1000000)::bigint").Scan(&there); err != nil {
		return x, explain(d.path, err)
	}
	x.Within = time.Since(asked) / 2
	x.Ahead = time.UnixMicro(there).Sub(asked.Add(x.Within).Round(0)) // the wall clock, not the one that only goes forward
	return x, nil
}

// missing returns the rights that the user needs and has not: on the tables that are there, or else to make them.
func (d *DB) missing(ctx context.Context, place string, version int) (none []string, err error) {
	if version == 0 {
		var may bool
		// Where the schema is there its owner decided who makes tables in it, else that of the database.
		err := d.pool.QueryRowContext(ctx, `SELECT CASE WHEN to_regnamespace(quote_ident(?1)) IS NULL THEN has_database_privilege(current_database(), 'CREATE')
			ELSE has_schema_privilege(to_regnamespace(quote_ident(?1)), 'CREATE') END`, place).Scan(&may)
		if err == nil && !may {
			none = []string{"CREATE in " + pgx.Identifier{place}.Sanitize()}
		}
		return none, err
	}
	rows, err := d.pool.QueryContext(ctx, `SELECT t.tablename, p.need FROM pg_tables t, (VALUES ('SELECT'), ('INSERT'), ('UPDATE'), ('DELETE')) p (need)
		WHERE t.schemaname = current_schema() AND t.tablename <> 'asusual_schema' AND NOT has_table_privilege(format('%I.%I', t.schemaname, t.tablename), p.need)
		ORDER BY t.tablename, p.need`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var table, need string
		if err := rows.Scan(&table, &need); err != nil {
			return nil, err
		}
		none = append(none, fmt.Sprintf("%s on %s", need, table))
	}
	slices.Sort(none)
	return none, rows.Err()
}
