package config

import (
	"fmt"
	"time"

	"asusual/model/limits"
)

// Keeping says for how long history keeps what. Zero is for ever.
type Keeping struct {
	Spectra  time.Duration // places of single spectra, and what became of files
	Means    time.Duration // mean spectra
	Episodes time.Duration // and groups, alarms and checks of the instrument
}

// leastKept is the shortest time for which anything may be kept: reports of the last days must go on being made.
const leastKept = 7 * 24 * time.Hour

// longestMean is over how long a mean spectrum may be taken: shifts begin at quarters of an hour, and a mean is of the shift in which
// it begins.
const longestMean = 15 * time.Minute

// decodeMeanLength reads over how long mean spectra are taken.
func decodeMeanLength(t *table, dst *time.Duration) {
	t.parse("mean-length", func(s string) error {
		d, err := time.ParseDuration(s)
		if err != nil || d < time.Minute || d > longestMean || time.Hour%d != 0 {
			return fmt.Errorf(`%q is no length of mean spectra; write "1m", "2m", "5m", "10m", "15m" or another from 1m to 15m that an hour is a multiple of`, s)
		}
		*dst = d
		return nil
	})
}

// decodeKeeping reads the times of [history].
func decodeKeeping(t *table, k *Keeping) {
	for _, one := range []struct {
		key string
		dst *time.Duration
	}{{"keep-spectra", &k.Spectra}, {"keep-means", &k.Means}, {"keep-episodes", &k.Episodes}} {
		t.parse(one.key, func(s string) (err error) {
			if s == "for ever" {
				return nil
			}
			d, err := limits.ParseStretch(s)
			if err != nil {
				return err
			}
			if d < leastKept {
				return fmt.Errorf("%q is less than a week; write a longer time, or take the line out to keep all", s)
			}
			*one.dst = d
			return nil
		})
	}
}
