package main

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"time"

	"asusual/model/oatline"
	"asusual/model/spectrum"
)

// cartonOf is how many spectra there are of each single carton of oat drink, and cartonBelt how many of the empty belt after it. The
// outermost of a carton show half of its edge.
const (
	cartonOf   = 5
	cartonBelt = 3
)

// writeCartons writes spectra of single cartons on a belt, a table a run, with the number of the carton in a column that is empty where
// none is there: as a sensor that triggers would have it. The kind "belt" is the empty belt alone.
func writeCartons(dir, kind string) error {
	line, err := oatline.New(oatline.Settings{Seed: 1, Channels: 64})
	if err != nil {
		return err
	}
	what := kind
	if kind == "belt" {
		what = "good"
	}
	stretches, err := oats(what)
	if err != nil {
		return err
	}
	for _, st := range stretches {
		st.N = min(st.N, 90)
		s, err := line.Series(st)
		if err != nil {
			return err
		}
		var all []spectrum.Spectrum
		n, at := 0, st.From
		for carton := range s.All() {
			n++
			if kind != "belt" {
				all = append(all, ofCarton(carton, n, &at)...)
			}
			all = append(all, emptyBelt(carton, &at)...)
			at = at.Add(time.Second)
		}
		if err := os.MkdirAll(filepath.Join(dir, st.Run), 0o755); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, st.Run, "cartons.csv"), cartonTable(all), 0o644); err != nil {
			return err
		}
	}
	return nil
}

// ofCarton are the spectra of one carton: those of its edges see half of it.
func ofCarton(s spectrum.Spectrum, n int, at *time.Time) (all []spectrum.Spectrum) {
	for i := range cartonOf {
		one := s
		one.Label, one.Time, one.Values = fmt.Sprintf("%04d", n), *at, make([]float64, len(s.Values))
		for j, v := range s.Values {
			one.Values[j] = v + 0.001*math.Sin(float64(13*i+j*j+n))
			if i == 0 || i == cartonOf-1 {
				one.Values[j] *= 0.5
			}
		}
		all = append(all, one)
		*at = at.Add(100 * time.Millisecond)
	}
	return all
}

func emptyBelt(s spectrum.Spectrum, at *time.Time) (all []spectrum.Spectrum) {
	for range cartonBelt {
		one := s
		one.Label, one.Time, one.Values = "", *at, make([]float64, len(s.Values))
		for j := range one.Values {
			one.Values[j] = 0.01 + 0.001*math.Sin(float64(at.UnixMilli()%9973)*float64(j+1))
		}
		all = append(all, one)
		*at = at.Add(100 * time.Millisecond)
	}
	return all
}

func cartonTable(all []spectrum.Spectrum) []byte {
	var b bytes.Buffer
	fmt.Fprint(&b, "# axis: nm\n# quantity: absorbance\ntime,carton")
	for j := range all[0].Axis.Len() {
		fmt.Fprintf(&b, ",%g", all[0].Axis.At(j))
	}
	b.WriteByte('\n')
	for _, s := range all {
		fmt.Fprintf(&b, "%s,%s", s.Time.UTC().Format("2006-01-02T15:04:05.000Z"), s.Label)
		for _, v := range s.Values {
			fmt.Fprintf(&b, ",%.6f", v)
		}
		b.WriteByte('\n')
	}
	return b.Bytes()
}
