package archive

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"asusual/model/finding"
)

// A column is one column of a table of rows of type T: how it is written and, where set is not nil, read back.
type column[T any] struct {
	name string
	get  func(*T) string
	set  func(*T, string) error
}

func text[T any](name string, of func(*T) *string) column[T] {
	return column[T]{name, func(v *T) string { return *of(v) }, func(v *T, s string) error { *of(v) = s; return nil }}
}

func whole[T any, N ~int | ~int64](name string, of func(*T) *N) column[T] {
	return column[T]{name, func(v *T) string { return strconv.FormatInt(int64(*of(v)), 10) }, func(v *T, s string) error {
		n, err := strconv.ParseInt(s, 10, 64)
		*of(v) = N(n)
		return err
	}}
}

// number writes a number that is not finite as an empty cell, which is read back as one that is none.
func number[T any](name string, of func(*T) *float64) column[T] {
	return column[T]{name, func(v *T) string { return figure(*of(v), 64) }, func(v *T, s string) (err error) {
		*of(v), err = parseFigure(s, 64)
		return err
	}}
}

// single is number for one of a pair of float32, which is zero where the cell is empty.
func single[T any](name string, of func(*T) *float32) column[T] {
	return column[T]{name, func(v *T) string { return figure(float64(*of(v)), 32) }, func(v *T, s string) error {
		x, err := parseFigure(s, 32)
		*of(v) = float32(x)
		return err
	}}
}

func figure(x float64, bits int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', -1, bits)
}

func parseFigure(s string, bits int) (float64, error) {
	if s == "" {
		return math.NaN(), nil
	}
	return strconv.ParseFloat(s, bits)
}

// numbers writes a list of numbers with spaces between.
func numbers[T any](name string, bits int, of func(*T) *[]float64) column[T] {
	return column[T]{name, func(v *T) string {
		var b strings.Builder
		for i, x := range *of(v) {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(figure(x, bits))
		}
		return b.String()
	}, func(v *T, s string) error {
		for f := range strings.FieldsSeq(s) {
			x, err := strconv.ParseFloat(f, bits)
			if err != nil {
				return err
			}
			*of(v) = append(*of(v), x)
		}
		return nil
	}}
}

func flag[T any](name string, of func(*T) *bool) column[T] {
	return column[T]{name, func(v *T) string { return strconv.FormatBool(*of(v)) }, func(v *T, s string) (err error) {
		*of(v), err = strconv.ParseBool(s)
		return err
	}}
}

func moment[T any](name string, of func(*T) *time.Time) column[T] {
	return column[T]{name, func(v *T) string {
		if of(v).IsZero() {
			return ""
		}
		return of(v).UTC().Format(time.RFC3339Nano)
	}, func(v *T, s string) (err error) {
		if s != "" {
			*of(v), err = time.Parse(time.RFC3339Nano, s)
		}
		return err
	}}
}

// length writes a length of time in seconds.
func length[T any](name string, of func(*T) *time.Duration) column[T] {
	return column[T]{name, func(v *T) string { return figure(of(v).Seconds(), 64) }, func(v *T, s string) error {
		x, err := strconv.ParseFloat(s, 64)
		*of(v) = time.Duration(math.Round(x * float64(time.Second)))
		return err
	}}
}

// reasons are findings in words, for people: they are not read back.
func reasons[T any](of func(*T) *[]finding.Finding) column[T] {
	return column[T]{"reasons", func(v *T) string {
		var said []string
		for _, f := range *of(v) {
			said = append(said, f.String())
		}
		return strings.Join(said, "; ")
	}, nil}
}

func findings[T any](of func(*T) *[]finding.Finding) column[T] {
	return column[T]{"findings", func(v *T) string {
		if len(*of(v)) == 0 {
			return ""
		}
		b, err := json.Marshal(*of(v))
		if err != nil { // a number that is not finite: history keeps none
			return ""
		}
		return string(b)
	}, func(v *T, s string) error {
		if s == "" {
			return nil
		}
		return json.Unmarshal([]byte(s), of(v))
	}}
}

// badCell says which cell of which table cannot be read.
func badCell(table string, row int, column, cell string, err error) error {
	return fmt.Errorf("%s: row %d: %s: %q: %w", table, row, column, cell, err)
}
