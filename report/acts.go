package report

import (
	"slices"
	"time"
)

// An Act is what became of the alarm of the line, or what somebody asked of it and why that was refused.
type Act struct {
	Time     time.Time // by the clock on the wall
	What     string    // raised, returned to normal, acknowledged, shelved, unshelved, shelf is over
	Who, Why string    // "" where nobody did it
	Until    time.Time // of a shelf
	State    string    // of the alarm after it
	Refused  string    // why it was not done; "" where it was
}

// actKeys are the keys of the words for what became of an alarm.
var actKeys = map[string]string{"raised": "act.raised", "returned to normal": "act.gone", "acknowledged": "act.acknowledged",
	"shelved": "act.shelved", "unshelved": "act.unshelved", "shelf is over": "act.over"}

func (a Act) say(t *teller) string {
	text := a.What
	if key, ok := actKeys[a.What]; ok {
		text = t.say(key, "until", t.clock(a.Until))
	}
	if a.Refused != "" {
		text += ", " + t.say("act.refused", "why", t.times(t.Said(a.Refused)))
	}
	return text
}

// alarmLine says on the first page who knows of the change; "" where there was no alarm.
func (h Handover) alarmLine(t *teller) string {
	for _, a := range slices.Backward(h.Acts) {
		if a.Refused != "" {
			continue
		}
		put := []string{"since", t.clock(a.Time), "until", t.clock(a.Until), "who", a.Who, "why", a.Why}
		switch {
		case a.What == "acknowledged":
			return t.say("live.alarm.acknowledged", put...)
		case a.What == "shelved":
			return t.say("live.alarm.shelved", put...)
		case a.What == "returned to normal" && a.State == "returned to normal":
			return t.say("live.alarm.returned", put...)
		case a.What == "raised", a.What == "unshelved" && a.State == "unacknowledged", a.What == "shelf is over" && a.State == "unacknowledged":
			return t.say("live.alarm.open")
		}
	}
	return ""
}

// actTable lists what became of the alarm; ok is false where there was none.
func (h Handover) actTable(t *teller) (tb table, ok bool) {
	tb = table{Caption: t.say("acts.title"), Heads: []head{
		{t.say("col.at"), false}, {t.say("col.alarm"), false}, {t.say("col.who"), false}, {t.say("col.why"), false},
	}}
	for _, a := range h.Acts {
		tb.Rows = append(tb.Rows, row{Cells: []string{t.clock(a.Time), a.say(t), orNone(a.Who), orNone(a.Why)}})
	}
	return dropEmpty(tb), len(h.Acts) > 0
}

// actsCSV is what became of the alarm as a table.
func actsCSV(all []Act) []byte {
	s := newSheetOf("time", "act", "who", "why", "until", "state", "refused")
	for _, a := range all {
		until := any("")
		if !a.Until.IsZero() {
			until = a.Until
		}
		s.row(a.Time, a.What, a.Who, a.Why, until, a.State, a.Refused)
	}
	return s.bytes()
}
