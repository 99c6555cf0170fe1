// Package words holds what asusual says to a person on a terminal: the help of each command, the hint after an error,
// and how a time or a duration is said. It decides nothing and reads nothing.
package words
