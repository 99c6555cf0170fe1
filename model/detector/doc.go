// Package detector knows where detectors see, and says where a reference leans on what its detector cannot see. It judges no
// spectrum.
//
// All ranges here are common practice, no source: detectors of one kind differ by maker, temperature and window.
package detector
