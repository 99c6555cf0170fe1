package limits

// A Leaping is what a Leap remembers of the run so far. It marshals to JSON completely.
type Leaping struct {
	Seen  int       `json:"seen"`  // spectra
	Y     []float64 `json:"y"`     // the last one's features, made white
	Sum   []float64 `json:"sum"`   // of all innovations
	Level []float64 `json:"level"` // v̄
	N     float64   `json:"n"`     // N
	Marks []mark    `json:"marks"` // perOctave of each octave
	Doubt doubt     `json:"doubt"`
	Above int       `json:"above"` // spectra above the threshold in a row
	Held  *hold     `json:"held,omitempty"`

	y, v, white []float64
	widen       []float64 // one over Leap.Widen
	gain        []gain
	calms       []calm  // for quiet: of each mark of the first octave, then of each other octave
	path, way   float64 // that innovations came, and the last one
	walked      int     // the last spectrum in path
	stood       bool    // the newest Sustained spectra, which were in doubt, stand where the first of them says
}

// A mark remembers a moment at which a change may have begun.
type mark struct {
	At int       `json:"at"` // the spectrum, from 1 on; 0: none
	N  float64   `json:"n"`
	P  []float64 `json:"p"` // a v_j − b Σv up to it
	B  []float64 `json:"b"` // v̄ before it
}

// Marks of octave o are 2^o spectra apart, and the last perOctave of them are kept; the younger half of them is only
// looked at in the first octave, since the octave below has closer ones there.
const (
	perOctave   = 4
	mostOctaves = 10
)

// A hold is a leap that was seen and is followed until it is over.
type hold struct {
	From []float64 `json:"from"` // the level before, of y
	By   []float64 `json:"by"`   // the leap
	R    float64   `json:"r"`    // weight of the newest spectrum in Away
	At   int       `json:"at"`   // the spectrum it began with
	Away float64   `json:"away"` // how much of the leap still stands, 1 all of it
}

func (q *Leap) prepare(r *Leaping) {
	d := q.To - q.From
	if len(r.Y) != d || len(r.Marks) != perOctave*len(q.Inflate) {
		*r = Leaping{Y: make([]float64, d), Sum: make([]float64, d), Level: make([]float64, d)}
		r.Marks = make([]mark, perOctave*len(q.Inflate))
		all := make([]float64, 2*d*len(r.Marks)) // side by side, since all are gone through for every spectrum
		for i := range r.Marks {
			r.Marks[i].P, r.Marks[i].B, all = all[:d:d], all[d:2*d:2*d], all[2*d:]
		}
	}
	r.Doubt.prepare(d)
	r.y, r.v, r.white, r.gain, r.widen = q.scratch()
}

// scratch returns what a Leaping has besides what it remembers.
func (q *Leap) scratch() (y, v, white []float64, gains []gain, widen []float64) {
	d := q.To - q.From
	y, v, white, gains, widen = make([]float64, d), make([]float64, d), make([]float64, d), make([]gain, d), make([]float64, d*len(q.Inflate))
	for i := range widen {
		widen[i] = 1 / q.widened(i/d, i%d)
	}
	for c := range gains {
		a, b := 1/q.Sigma[c], (1-q.Phi[c])/q.Sigma[c]
		gains[c] = gain{a, b, a * a, b * b}
	}
	return y, v, white, gains, widen
}

func (r *Leaping) reset() {
	r.Seen, r.N, r.Above, r.Held = 0, 0, 0, nil
	r.Doubt.At = 0
	clear(r.Sum)
	clear(r.Level)
	for i := range r.Marks {
		r.Marks[i].At = 0
	}
}

// copyFrom makes r what o is, in memory of its own; a hold does not change but for its Away.
func (r *Leaping) copyFrom(o *Leaping) {
	c := Leaping{Seen: o.Seen, N: o.N, Above: o.Above, y: r.y, v: r.v, white: r.white, widen: r.widen, gain: r.gain}
	clear(r.calms)
	c.calms = r.calms
	c.Y, c.Doubt = append(r.Y[:0], o.Y...), r.Doubt
	c.Doubt.copyFrom(&o.Doubt)
	c.Sum, c.Level = append(r.Sum[:0], o.Sum...), append(r.Level[:0], o.Level...)
	if c.Marks = r.Marks; len(c.Marks) != len(o.Marks) {
		c.Marks = make([]mark, len(o.Marks))
	}
	for i := range c.Marks {
		m, from := &c.Marks[i], &o.Marks[i]
		m.At, m.N = from.At, from.N
		m.P, m.B = append(m.P[:0], from.P...), append(m.B[:0], from.B...)
	}
	if o.Held != nil {
		h := *o.Held
		c.Held = &h
	}
	*r = c
}
