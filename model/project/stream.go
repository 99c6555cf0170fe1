package project

import (
	"fmt"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// A Stream hands out spectra of p channels from its first to its last, some at a time: rows holds one or more whole
// spectra, one after another, and may be used again after take returns. Each call begins anew and gives the same
// spectra. It returns the first error of take, or its own.
type Stream func(take func(rows []float64) error) error

const (
	sampled = enough // spectra of a stream that are held, taken evenly: from them the search starts
	spare   = 8      // directions beside the k that the search in a stream takes along: each pass costs a reading
)

// FitStream returns what Fit returns for spectra that need not be held: it goes over the stream a few times. Memory
// is that of at most 4,096 spectra and a few dozen more.
//
// The first time gives the mean, the total variance and an even sample, whose components are found in memory. From
// these, which are near, the search goes on over the whole stream, one reading a pass, to the residual that Fit asks for.
// Where it does not get there, the covariance is formed, which is one reading more and much arithmetic. θ₁ is that of all
// spectra; θ₂ and θ₃ are those of the sample, scaled to it.
//
// Source: Halko, Martinsson, Tropp 2011, Finding structure with randomness, SIAM Review 53, 217–288, §5.5 on matrices
// too large to be held; here with a sample for the random start and a residual test for the end.
func FitStream(each Stream, p, k int) (*PCA, error) {
	s := &stream{each: each, p: p}
	if err := s.survey(); err != nil {
		return nil, err
	}
	if err := sizes(s.n, p, k); err != nil {
		return nil, err
	}
	held, _ := s.sample.Dims()
	if held == s.n {
		return Fit(s.sample, k)
	}
	near, _ := search(&rows{x: s.sample, mean: s.mean}, p, min(k, held-1), spare, nil)
	values, vectors, ok := leading(s, p, k, spare, near.u.Data)
	if s.err != nil {
		return nil, s.err
	}
	if !ok {
		return s.fallback(k)
	}
	if err := checkRank(values, s.mean); err != nil {
		return nil, err
	}
	m := &PCA{Mean: s.mean, K: k, P: p, N: s.n, Eigenvalues: values, Loadings: vectors}
	if k < p {
		m.Theta = s.dropped(m)
	}
	return m.finish(), nil
}

// stream is the covariance of spectra that are read again for each product.
type stream struct {
	each    Stream
	p, n    int
	mean    []float64
	total   float64    // the trace of the covariance
	sample  *mat.Dense // evenly taken
	scratch []float64
	turned  []float64 // room for its transpose
	err     error     // of the last reading
}

// survey reads the spectra once, for their number, mean, total variance and a sample.
func (s *stream) survey() error {
	p := s.p
	if p < 1 {
		return fmt.Errorf("spectra of %d channels", p)
	}
	var origin, held []float64
	var squares float64
	sum, part, d := make([]float64, p), make([]float64, p), make([]float64, p)
	stride := 1 // each so many spectra is held
	err := s.read(func(rows []float64) error {
		for ; len(rows) > 0; rows = rows[p:] {
			row := rows[:p]
			if origin == nil {
				origin, held = append(origin, row...), make([]float64, 0, sampled*p) // what is not used of it costs no memory
			}
			floats.SubTo(d, row, origin)
			q := floats.Dot(d, d)
			if !(q < 1e150) {
				return fmt.Errorf("spectrum %d has a value that is not a finite number or too large to square", s.n+1)
			}
			squares += q
			floats.Add(part, d)
			if s.n%chunk == chunk-1 {
				floats.Add(sum, part)
				clear(part)
			}
			if s.n%stride == 0 {
				if len(held) == sampled*p {
					held, stride = everyOther(held, p), 2*stride
				}
				if s.n%stride == 0 {
					held = append(held, row...)
				}
			}
			s.n++
		}
		return nil
	})
	if err != nil || s.n == 0 {
		return err
	}
	floats.Add(sum, part)
	s.mean = make([]float64, p)
	floats.AddScaledTo(s.mean, origin, 1/float64(s.n), sum)
	s.total = max(0, squares-floats.Dot(sum, sum)/float64(s.n)) / float64(max(1, s.n-1))
	s.sample = mat.NewDense(len(held)/p, p, held)
	return nil
}

// everyOther keeps the first of every two spectra, in place.
func everyOther(rows []float64, p int) []float64 {
	n := len(rows) / p
	for i := 0; i < n; i += 2 {
		copy(rows[i/2*p:(i/2+1)*p], rows[i*p:(i+1)*p])
	}
	return rows[:(n+1)/2*p]
}

// read goes over the stream, and minds that spectra are whole.
func (s *stream) read(take func(rows []float64) error) error {
	return s.each(func(rows []float64) error {
		if len(rows)%s.p != 0 {
			return fmt.Errorf("a stream of spectra of %d channels gave %d values at once", s.p, len(rows))
		}
		return take(rows)
	})
}

// multiply fills w, b×p, with v·C, and s.err where the stream cannot be read again.
func (s *stream) multiply(w, v blas64.General) {
	p, seen := s.p, 0
	clear(w.Data[:w.Rows*w.Stride])
	if s.err != nil {
		return
	}
	if s.scratch == nil {
		s.scratch = make([]float64, chunk*p)
	}
	y := make([]float64, chunk*v.Rows)
	s.err = s.read(func(rows []float64) error {
		for len(rows) > 0 {
			part := rows[:min(len(rows), chunk*p)]
			rows = rows[len(part):]
			xc := general(len(part)/p, p, s.scratch)
			seen += xc.Rows
			for i := 0; i < len(part); i += p {
				floats.SubTo(xc.Data[i:i+p], part[i:i+p], s.mean)
			}
			s.turned = addMultiplied(w, v, xc, 1/float64(s.n-1), y, s.turned)
		}
		return nil
	})
	if s.err == nil && seen != s.n {
		s.err = fmt.Errorf("a stream of spectra gave %d at first and %d when read again", s.n, seen)
	}
}

// dropped returns Theta.
func (s *stream) dropped(m *PCA) [3]float64 {
	left := s.total
	for _, v := range m.Eigenvalues {
		left = max(0, left-v)
	}
	th := (&rows{x: s.sample, mean: s.mean}).dropped(m)
	if th[0] == 0 {
		return [3]float64{left}
	}
	f := left / th[0]
	return [3]float64{left, f * f * th[1], f * f * f * th[2]}
}

// fallback forms the covariance.
func (s *stream) fallback(k int) (*PCA, error) {
	all := NewMoments(s.mean)
	err := s.read(func(rows []float64) error {
		for ; len(rows) > 0; rows = rows[s.p:] {
			if err := all.AddSpectrum(rows[:s.p]); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return all.Fit(k, nil)
}
