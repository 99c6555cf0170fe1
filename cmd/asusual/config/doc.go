// Package config reads asusual.toml, for every command. It opens no file that the configuration names; it says what
// stands there, with paths made whole, and refuses what it does not understand.
//
// An unknown key, a value of the wrong kind and a value that is not allowed are each named with their line. Sample
// is the commented file that init writes; it holds every key there is.
package config
