package arrive_test

import (
	"testing"
	"testing/synctest"
	"time"

	"asusual/monitor/arrive"
)

func (r *run) away(is bool) { r.locked(func() { r.gone = is }) }

// What was gone before it could be read is handed on again where the folder has it, and as it is now.
func TestForgetHandsOnAgain(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		h := make(hints)
		r := start(t, arrive.Options{Source: h})
		defer r.stop(t)
		was := time.Now()
		r.write("a.csv", 10, was)
		r.write("b.csv", 10, was)
		h <- arrive.Event{Hint: arrive.Complete, Rel: "a.csv"}
		h <- arrive.Event{Hint: arrive.Complete, Rel: "b.csv"}
		expect(t, "renamed into place", r.after(0), "a.csv", "b.csv")
		r.s.Forget(arrive.File{Rel: "a.csv", Size: 10, Modified: was})
		r.s.Forget(arrive.File{Rel: "b.csv", Size: 9, Modified: was}) // an earlier one
		r.s.Forget(arrive.File{Rel: "c.csv", Size: 9, Modified: was}) // one that is there no more
		expect(t, "after a listing", r.after(3100*time.Millisecond), "a.csv")
		expect(t, "later", r.after(5*time.Minute))
	})
}

// A file that waits for another try gets it however the folder is away meanwhile.
func TestAgainOutlastsTheFolder(t *testing.T) {
	for what, leave := range map[string]func(r *run, h hints){
		"the folder is gone when it is listed": func(r *run, _ hints) { r.away(true) },
		"the file is gone when it is due":      func(*run, hints) {},
		"a notification says that it is gone": func(_ *run, h hints) {
			h <- arrive.Event{Hint: arrive.Changed, Rel: "a.csv"}
		},
	} {
		synctest.Test(t, func(t *testing.T) {
			h := make(hints)
			r := start(t, arrive.Options{Source: h, Rescan: time.Minute})
			defer r.stop(t)
			was := time.Now()
			r.write("a.csv", 10, was)
			h <- arrive.Event{Hint: arrive.Complete, Rel: "a.csv"}
			expect(t, what+": renamed into place", r.after(0), "a.csv")
			r.s.Again(arrive.File{Rel: "a.csv", Size: 10, Modified: was}, 70*time.Second)
			r.after(time.Second)
			r.remove("a.csv")
			leave(r, h)
			expect(t, what, r.after(80*time.Second))
			r.away(false)
			r.write("a.csv", 10, was)
			expect(t, what+", and it came back", r.after(2*time.Minute), "a.csv")
			expect(t, what+", later", r.after(5*time.Minute))
		})
	}
}
