package keep

import (
	"errors"
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
		p := patience{passing: func(err error) bool { return errors.Is(err, open) }, wait: func(d time.Duration) { waited += d }}
		err := p.do(func() error {
			tries++
			return tt.errs[min(tries, len(tt.errs))-1]
		})
		if !errors.Is(err, tt.want) || tries > tt.most || tt.most < 10 && tries != tt.most || waited > 2*waitMost {
			t.Errorf("%s: do = %v after %d tries and %v, want %v after %d", tt.name, err, tries, waited, tt.want, tt.most)
		}
	}
}
