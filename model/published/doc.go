// Package published gives tests what others measured or computed and published: the files of testdata/published, whose README.md names
// the source of each, and the scripts there that make them. Tests alone import it.
package published
