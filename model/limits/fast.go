package limits

// Fast returns how far the fast memory alone stands from usual, as a share of its threshold. A change that it sees is
// over for it soon after it is over, while a slow memory goes on remembering; and for a run that began changed, the way
// back to usual is a move that only the questions about moving ask about.
func (l *Limits) Fast(r *Recall) float64 {
	largest := 0.0
	for i := range l.Questions {
		if i%memories == 0 && !l.Questions[i].Moved {
			largest = max(largest, r.Share[i])
		}
	}
	return largest
}
