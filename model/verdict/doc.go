// Package verdict turns one spectrum after another into what a line is told: as usual, the process has changed, or
// cannot say, and since when. It does not place spectra and knows no threshold: limits gives those.
//
// A State takes one Observation after another and answers each with a Step. It is what a watch keeps between two
// starts: written as JSON and read back, it goes on exactly where it stood.
//
// # Rules
//
// Only spectra that ought to be usual feed the memories: those placed in usual, and uncharted ones. A named condition
// neither feeds nor resets them; an unfit spectrum only counts as unfit. Nothing was seen of usual for longer than the
// limits' Gap: the run is over, memories start anew, an open episode ends with the last spectrum that was in it.
//
// An episode begins where the memories pass their threshold and stay above it for OnDelay spectra, and ends where they
// stay below ReturnBelow of it for ReturnDelay spectra: on-delay, off-delay and deadband as IEC 62682 (Management of
// alarm systems for the process industries, 2014) and ISA-18.2 describe them. There are no published values for
// spectral statistics; these were chosen so that a stray is no episode and an episode does not chatter on simulated
// lines.
package verdict
