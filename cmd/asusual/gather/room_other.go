//go:build !linux

package gather

func largePages([]float64) {}
