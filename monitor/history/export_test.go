package history

import "context"

// SetBusy makes writes wait for another program's lock for so many milliseconds only.
func (d *DB) SetBusy(ctx context.Context, millis string) error {
	_, err := d.conn.ExecContext(ctx, "PRAGMA busy_timeout = "+millis)
	return err
}
