package keep

import (
	"errors"
	"path/filepath"
	"testing"
	"time"
)

func TestWhatSomebodyHasOpenIsTriedAgainForAMoment(t *testing.T) {
	open, other := errors.New("open elsewhere"), errors.New("no room")
	for _, tt := range []struct {
		name string
		errs []error // of one try after another; the last one stays
		want error
		most int // tries
	}{
		{"nobody has it open", []error{nil}, nil, 1},
		{"closed after a moment", []error{open, open, open, nil}, nil, 4},
		{"closed, and then there is other trouble", []error{open, other}, other, 2},
		{"other trouble is not waited for", []error{other}, other, 1},
		{"never closed", []error{open}, open, 50},
	} {
		tries, waited := 0, time.Duration(0)
		p := patience{passing: func(err error) bool { return errors.Is(err, open) }, wait: func(d time.Duration) { waited += d }, most: waitMost}
		err := p.do(func() error {
			tries++
			return tt.errs[min(tries, len(tt.errs))-1]
		})
		if !errors.Is(err, tt.want) || tries > tt.most || tt.most < 10 && tries != tt.most || waited > 2*waitMost {
			t.Errorf("%s: do = %v after %d tries and %v, want %v after %d", tt.name, err, tries, waited, tt.want, tt.most)
		}
	}
}

// Whoever looks at a lock while it is taken does not keep it from being taken, and who holds it does.
func TestTakeOutlastsALook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "lock")
	look, err := Take(path, Holder{}) // the lock that Look has for a moment
	if err != nil {
		t.Fatal(err)
	}
	p := patience{func(err error) bool { return errors.Is(err, errLocked) }, func(time.Duration) { _ = look.Release() }, waitLook}
	h, err := take(path, Holder{Name: "watch", PID: 1}, p)
	if err != nil {
		t.Fatalf("taking a lock that is looked at = %v, want it taken", err)
	}
	var held *Held
	p.wait = func(time.Duration) {}
	if _, err := take(path, Holder{}, p); !errors.As(err, &held) || held.By.Name != "watch" {
		t.Errorf("taking a lock that is held = %v, want its holder", err)
	}
	if err := h.Release(); err != nil {
		t.Error(err)
	}
}
