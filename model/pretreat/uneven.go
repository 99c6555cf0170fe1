package pretreat

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"
)

// maxWeights bounds the memory of an uneven filter, 128 MB: only a window as wide as a very long axis comes near it.
const maxWeights = 16 << 20

// unevenly filters a stretch with uneven spacing, with weights for each channel from the real positions.
// The polynomial of each channel is fitted to the channels no further than half a window away, however many there are,
// and read off at the channel; near the ends, that of the first and the last channel whose window is not cut short.
// On an even stretch this is what evenly does, at several times the cost.
type unevenly struct {
	stretch
	begin   []int     // channel of src where the window of each channel begins
	at      []int     // where its weights begin; one more at the end
	weights []float64 // all weights, one channel after the other
	most    float64   // the largest sum of magnitudes of the weights of a channel
}

// newUneven works out the weights for the positions z, which rise or fall.
func newUneven(st stretch, z []float64, s Step) (*unevenly, error) {
	n, reach := len(z), s.Window/2*tie
	u := &unevenly{stretch: st, at: []int{0}}
	// The first and the last full window stand in for those that would stick out.
	first, last := 0, n-1
	for first+1 < n && math.Abs(z[first+1]-z[0]) <= reach {
		first++
	}
	for last > 0 && math.Abs(z[n-1]-z[last-1]) <= reach {
		last--
	}
	lo, hi := 0, 0
	for i := range z {
		mid := min(max(i, first), last)
		if first > last {
			return nil, tooShort(n, z[0], z[n-1])
		}
		for math.Abs(z[mid]-z[lo]) > reach {
			lo++
		}
		for hi < n && math.Abs(z[hi]-z[mid]) <= reach {
			hi++
		}
		if hi-lo <= s.Degree {
			return nil, tooFew(hi-lo, s.Degree, z[mid])
		}
		if len(u.weights)+hi-lo > maxWeights {
			return nil, fmt.Errorf("a window of %.6g holds too many of the %d unevenly spaced channels; use a narrower window", s.Window, n)
		}
		w := weightsAt(z[lo:hi], z[mid], z[i], s)
		u.weights, u.most = append(u.weights, w...), max(u.most, floats.Norm(w, 1))
		u.begin, u.at = append(u.begin, lo), append(u.at, len(u.weights))
	}
	return u, nil
}

// weightsAt returns the weights of the channels at z for the polynomial fitted to them and read off at the position to.
func weightsAt(z []float64, mid, to float64, s Step) []float64 {
	scale := max(math.Abs(z[0]-mid), math.Abs(z[len(z)-1]-mid))
	if scale == 0 {
		scale = 1
	}
	v := make([]float64, len(z))
	for j := range z {
		v[j] = (z[j] - mid) / scale
	}
	w := orthonormal(v, s.Degree).weights((to-mid)/scale, s.Order)
	unit := math.Pow(scale, -float64(s.Order))
	for j := range w {
		w[j] *= unit
	}
	return w
}

func (u *unevenly) gain() float64 { return u.most }

func (u *unevenly) apply(dst, src []float64) {
	dst, src = dst[u.from:u.to], src[u.from:u.to]
	for i, lo := range u.begin {
		w := u.weights[u.at[i]:u.at[i+1]]
		dst[i] = floats.Dot(w, src[lo:lo+len(w)])
	}
}
