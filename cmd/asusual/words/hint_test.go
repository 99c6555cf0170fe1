package words

import (
	"fmt"
	"strings"
	"testing"

	"asusual/monitor/history"
	"asusual/monitor/mqtt"
)

// Errors that a watch waits out, or ends with, say what to try.
func TestHintsOfHistoryAndBroker(t *testing.T) {
	for _, c := range []struct {
		err  error
		want string
	}{
		{history.ErrBusy, "end what holds it"},
		{history.ErrTwoHistories, "asusual export of both"},
		{history.ErrFarBehind, "a newer copy of the server's history"},
		{history.ErrAway, "whether the server runs"},
		{&mqtt.Refusal{Of: "the connection"}, "user and password-file"},
		{mqtt.ErrMalformed, "a broker that speaks MQTT 5"},
	} {
		if got := Hint(fmt.Errorf("line a: %w", c.err)); !strings.Contains(got, c.want) {
			t.Errorf("Hint(%v) = %q, want %q in it", c.err, got, c.want)
		}
	}
}
