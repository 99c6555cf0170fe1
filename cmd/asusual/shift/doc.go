// Package shift knows when the shifts of a site begin and end, for the commands that report by shift.
// It reads no clock and no file: times go in, spans of time come out.
//
// A shift is said by the clock on the wall ("22:00 to 06:00"), so its length in hours follows that clock: a night
// in which the clock is put back is an hour longer, one in which it is put forward an hour shorter. A time that the
// clock skips means the moment of the skip; a time that it shows twice means the first of the two.
package shift
