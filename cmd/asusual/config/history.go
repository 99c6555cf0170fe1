package config

import (
	"errors"

	"asusual/monitor/history"
)

var errNoServer = errors.New("it must be the address of a database on a PostgreSQL server, such as postgres://line3@history.plant/asusual")

// decodeHistory reads where the history is: history = "…", a file or the address of a server, or the table [history].
func decodeHistory(top *table, c *Config) {
	if _, is := top.vals["history"].(string); is {
		top.parse("history", func(s string) (err error) {
			if history.IsServer(s) {
				c.Server = s
				return history.CheckServer(s)
			}
			c.History, err = whole(c.File, s)
			return err
		})
		return
	}
	t := top.table("history")
	if t == nil {
		return
	}
	t.filePath("file", &c.History)
	t.parse("server", func(s string) error {
		c.Server = s
		if !history.IsServer(s) {
			return errNoServer
		}
		return history.CheckServer(s)
	})
	decodeKeeping(t, &c.Keep)
	decodeMeanLength(t, &c.MeanLength)
	t.end()
}

// decodeHistories reads which other histories the page over all lines shows.
func decodeHistories(t *table, c *Config) {
	var all []string
	t.texts("histories", &all)
	for _, s := range all {
		if !history.IsServer(s) {
			s = t.whole("histories", s)
		} else if err := history.CheckServer(s); err != nil {
			t.doc.wrong(t.at("histories"), "histories: %v", err)
		}
		c.Site.Histories = append(c.Site.Histories, s)
	}
}

// Where returns what the history is opened by to be read: the server's address, where there is one, or the file.
func (c *Config) Where() string {
	switch {
	case c.Server != "":
		return c.Server
	case c.History != "":
		return c.History
	}
	return "asusual.history"
}
