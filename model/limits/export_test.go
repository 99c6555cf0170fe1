package limits

// Memories binds a Recall to its Limits.
type Memories struct {
	l *Limits
	r Recall
}

// Memories returns fresh memories that have seen nothing.
func (l *Limits) Memories() *Memories { return &Memories{l: l} }

// Add is Step on the memories' own Recall.
func (m *Memories) Add(features []float64) float64 { return m.l.Step(&m.r, features) }

// Reset starts a new run.
func (m *Memories) Reset() { m.r.Reset() }

// Shares returns the last answers, each as a share of its threshold, in the order of Limits.Questions and then of
// Limits.Leaps. It is not a copy.
func (m *Memories) Shares() []float64 { return m.r.Share }
